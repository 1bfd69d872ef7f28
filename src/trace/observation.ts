// What a trace is made of: time-ordered observations at the charging interface. On disk they are JSON Lines
// (trace.schema.json); in memory times are whole nanoseconds from the header's epoch.

export type Side = 'vehicle' | 'charger';

export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
export type JsonObject = { [key: string]: Json };

/** The protocols a message observation may belong to. */
export type ProtocolName = 'slac' | 'sdp' | 'app-protocol' | 'din70121' | 'iso15118-2';

export interface TraceHeader {
  handfast: 'trace';
  version: 1;
  /** Wall-clock time of `at` 0, ISO 8601 with nine decimals and Z; null when the recorder knew none. */
  epoch: string | null;
  /** Who recorded this, in words (a capture file's name, a meter). */
  recorder?: string;
  says?: string;
  /** Limits of the pack's cells, where the recorder knows them: they differ from pack to pack. */
  cells?: { highest_V?: number; lowest_V?: number; hottest_C?: number; coldest_C?: number };
}

interface Base {
  /** Whole nanoseconds from the header's epoch. */
  at_ns: number;
  /** 1-based number of the packet in its capture file. */
  frame?: number;
  /** Which recorder saw it; absent in a trace of a single recorder. */
  recorder?: string;
}

export interface MessageObservation extends Base {
  kind: 'message';
  from: Side;
  /** The standard's own name: CurrentDemandReq, CM_SLAC_MATCH.CNF, SECCDiscoveryReq. */
  name: string;
  /** Content of the body element. */
  message: JsonObject;
  protocol: ProtocolName;
  /** Content of the V2G message header (SessionID, Notification, Signature). */
  header?: JsonObject;
  /** The connection it came over (`tcp:1`); absent for SLAC and SDP. */
  link?: string;
  /** Link-layer (MAC) address of sender and receiver, lower case with colons. */
  sender?: string;
  receiver?: string;
}

/** The life of one connection, and what of it could not be read. */
export interface LinkObservation extends Base {
  kind: 'link';
  link: string;
  /**
   * opened: handshake seen · joined: the capture starts inside it · closed: FIN · reset: RST ·
   * gap: bytes missing · encrypted: TLS · unreadable: bytes that are no message.
   */
  state: 'opened' | 'joined' | 'closed' | 'reset' | 'gap' | 'encrypted' | 'unreadable';
  /** Whose bytes are concerned (gap, unreadable) or who closed. */
  from?: Side;
  /** How many bytes are missing or unread. */
  bytes?: number;
  /** Offset of the bad byte in the frame's payload or message, 0-based. */
  byte?: number;
  says: string;
  /** MAC addresses and `[address]:port` of both ends; given with opened and joined. */
  vehicleAddress?: string;
  chargerAddress?: string;
  vehicleEnd?: string;
  chargerEnd?: string;
}

export interface PilotObservation extends Base {
  kind: 'pilot';
  /** At least one of `state` and `voltage_V` is there. */
  state?: 'A' | 'B' | 'C' | 'D' | 'E' | 'F';
  /** Positive peak at the charger's terminals; without oscillator the steady voltage. */
  voltage_V?: number;
  /** Negative peak there. */
  negative_V?: number;
  /** Whether the oscillator runs (the "2" of B2, C2). */
  pwm?: boolean;
  duty_percent?: number;
}

export interface VoltageObservation extends Base {
  kind: 'voltage';
  place: 'output' | 'inlet' | 'battery';
  voltage_V: number;
}

export interface CurrentObservation extends Base {
  kind: 'current';
  /** Positive into the vehicle. */
  current_A: number;
}

export interface ContactorObservation extends Base {
  kind: 'contactor';
  side: Side;
  state: 'open' | 'closed';
}

export interface LockObservation extends Base {
  kind: 'lock';
  state: 'locked' | 'unlocked';
}

export interface PlugObservation extends Base {
  kind: 'plug';
  state: 'in' | 'out';
}

export interface TemperatureObservation extends Base {
  kind: 'temperature';
  place: 'cell' | 'connector' | 'inlet' | 'cable' | 'coolant' | 'ambient';
  temperature_C: number;
}

export interface CellsObservation extends Base {
  kind: 'cells';
  lowest_V?: number;
  highest_V?: number;
}

export interface IsolationObservation extends Base {
  kind: 'isolation';
  /** Parallel value of both rails to protective earth, as a monitor reports it. */
  resistance_ohm: number;
  /** The charger's rated highest output voltage, the basis of ohms per volt (IEC 61851-23). */
  ratedVoltage_V?: number;
}

export interface AlarmObservation extends Base {
  kind: 'alarm';
  side: Side;
  alarm: 'none' | 'stop asked' | 'fault' | 'emergency' | 'crash';
  says?: string;
}

export interface NoteObservation extends Base {
  kind: 'note';
  says: string;
  /** Set when the recording itself is at fault: cut packets, a damaged block, a clock that stepped back. */
  problem?: 'damaged' | 'cut' | 'clock' | 'unsupported';
  /** Offset in the file, 0-based, where known. */
  byte?: number;
}

export type Observation =
  | MessageObservation
  | LinkObservation
  | PilotObservation
  | VoltageObservation
  | CurrentObservation
  | ContactorObservation
  | LockObservation
  | PlugObservation
  | TemperatureObservation
  | CellsObservation
  | IsolationObservation
  | AlarmObservation
  | NoteObservation;

/** A trace being read: the header at once, the observations in batches as they come. */
export interface OpenTrace {
  header: TraceHeader;
  observations: AsyncIterable<Observation[]>;
}
