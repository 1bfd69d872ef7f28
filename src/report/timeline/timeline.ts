// What a report shows of one session beside its result: every observation, the figures over time, and the facts.
import type { Json, Observation, ProtocolName, Side } from '../../trace/observation.ts';
import type { Packed } from './pack.ts';
import type { Tree } from './shapes.ts';

/** What the observations of one shape have in common. */
export interface ShapeHead {
  kind: Observation['kind'];
  /** Name of the message, or kind of the observation. */
  name: string;
  from?: Side;
  protocol?: ProtocolName;
  link?: string;
  sender?: string;
  receiver?: string;
  recorder?: string;
  /** Of a message `{header?, message}`; of another observation its own fields. */
  tree: Tree;
}

/** Names of the figures over time, in the order in which they are drawn. */
export const SERIES = {
  askedVoltage: { panel: 'voltage', unit: 'V', says: 'vehicle asks' },
  presentVoltage: { panel: 'voltage', unit: 'V', says: 'charger reports' },
  outputVoltage: { panel: 'voltage', unit: 'V', says: 'measured at the output' },
  inletVoltage: { panel: 'voltage', unit: 'V', says: 'measured at the inlet' },
  batteryVoltage: { panel: 'voltage', unit: 'V', says: 'measured at the battery' },
  vehicleVoltageLimit: { panel: 'voltage', unit: 'V', says: "vehicle's limit" },
  chargerVoltageLimit: { panel: 'voltage', unit: 'V', says: "charger's limit" },
  askedCurrent: { panel: 'current', unit: 'A', says: 'vehicle asks' },
  presentCurrent: { panel: 'current', unit: 'A', says: 'charger reports' },
  measuredCurrent: { panel: 'current', unit: 'A', says: 'measured' },
  vehicleCurrentLimit: { panel: 'current', unit: 'A', says: "vehicle's limit" },
  chargerCurrentLimit: { panel: 'current', unit: 'A', says: "charger's limit" },
  power: { panel: 'power', unit: 'kW', says: 'at the output' },
  vehiclePowerLimit: { panel: 'power', unit: 'kW', says: "vehicle's limit" },
  chargerPowerLimit: { panel: 'power', unit: 'kW', says: "charger's limit" },
  stateOfCharge: { panel: 'state of charge', unit: '%', says: 'vehicle reports' },
  isolation: { panel: 'isolation', unit: 'kΩ', says: 'measured' },
  lowestCell: { panel: 'cells', unit: 'V', says: 'lowest cell' },
  highestCell: { panel: 'cells', unit: 'V', says: 'highest cell' },
  cell: { panel: 'temperature', unit: '°C', says: 'cell' },
  connector: { panel: 'temperature', unit: '°C', says: 'connector' },
  inlet: { panel: 'temperature', unit: '°C', says: 'inlet' },
  cable: { panel: 'temperature', unit: '°C', says: 'cable' },
  coolant: { panel: 'temperature', unit: '°C', says: 'coolant' },
  ambient: { panel: 'temperature', unit: '°C', says: 'ambient' },
} as const;

export type SeriesName = keyof typeof SERIES;

export const LANES = {
  vehicleStage: 'vehicle stage',
  chargerStage: 'charger stage',
  vehicleConsent: 'vehicle consents to',
  chargerConsent: 'charger consents to',
  isolation: 'isolation',
  pilot: 'pilot',
  vehicleContactor: 'vehicle contactor',
  chargerContactor: 'charger contactor',
  lock: 'lock',
} as const;

export type LaneName = keyof typeof LANES;

/** What each side could be doing, as its machine has it, and what it could send next by itself. */
export type StateSet = Record<Side, { states: string[]; next: string[] }>;

/** As it is recorded. Rows are observations in time order; `rows` below are indexes of them. */
export interface Timeline {
  at_ns: number[];
  /** 0 where there is none. */
  frames: number[];
  shapes: number[];
  heads: ShapeHead[];
  /** For each shape its leaves, each a column over the rows of that shape. */
  columns: Json[][][];
  series: Partial<Record<SeriesName, { rows: number[]; values: number[] }>>;
  /** For each lane the rows at which its word changes. */
  lanes: Partial<Record<LaneName, { rows: number[]; words: string[] }>>;
  /** For each row an index into `stateSets`. */
  states: number[];
  stateSets: StateSet[];
  /** Rows that carry another session's id. */
  foreign: number[];
  /** Observations beyond what a report takes. */
  omitted: number;
}

/** The same as it is written: every column packed. */
export interface PackedTimeline {
  /** Microseconds, or nanoseconds where a time is no whole microsecond. */
  tick_ns: 1 | 1000;
  at: Packed;
  frames: Packed;
  shapes: Packed;
  heads: ShapeHead[];
  columns: Packed[][];
  series: Partial<Record<SeriesName, { rows: Packed; values: Packed }>>;
  lanes: Partial<Record<LaneName, { rows: number[]; words: string[] }>>;
  states: Packed;
  stateSets: StateSet[];
  foreign: number[];
  omitted: number;
}
