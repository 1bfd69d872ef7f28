// A side at the concrete level, in virtual time: what it sees goes in, what it does comes out. A machine (machine-side.ts),
// a program in another language or a liar all stand behind this one interface.
import type { MessageObservation, Observation, Side as SideName } from '../trace/observation.ts';

/** What the vehicle's own battery management knows of its pack. */
interface BatterySight {
  readonly kind: 'battery';
  readonly at_ns: number;
  readonly stateOfCharge_percent: number;
  readonly hottest_C: number;
  readonly coldest_C: number;
}

/**
 * What a side can see: whole messages of its peer, its link, the pilot, the plug, and its own sensors. The vehicle has
 * battery and inlet voltage, its contactors and its lock; the charger has its output voltage and its isolation monitor;
 * both have the current and their own alarms.
 */
export type Sight = Observation | BatterySight;

/** A message to the peer; the link brings it there. */
export interface SendMessage extends Pick<
  MessageObservation,
  'name' | 'message' | 'protocol' | 'header'
> {
  readonly do: 'send';
}

/** A command to the side's own hardware. */
export type Command =
  | { readonly do: 'contactors'; readonly to: 'open' | 'closed' }
  | { readonly do: 'lock'; readonly to: 'locked' | 'unlocked' }
  /** The vehicle's switch: B or C; the charger's oscillator: X1 is off, X2 on. */
  | { readonly do: 'pilot'; readonly to: 'B' | 'C' | 'X1' | 'X2' }
  /** The charger's power stage, with what it is to hold. */
  | {
      readonly do: 'output';
      readonly to: 'off' | 'test' | 'precharge' | 'on';
      readonly voltage_V: number;
      readonly current_A: number;
    };

export type Output =
  | SendMessage
  | Command
  /** Told to people and to whoever records alarms. */
  | {
      readonly do: 'alarm';
      readonly alarm: 'none' | 'stop asked' | 'fault' | 'emergency' | 'crash';
      readonly says?: string;
    }
  /** Ends the connection. */
  | { readonly do: 'close' };

export interface Reaction {
  /** In the order in which they happen. */
  readonly outputs: readonly Output[];
  /** When it wants to be asked again even if nothing was seen; null for never. */
  readonly wakeAt_ns: number | null;
}

/** Times never go back; a side sees only what is handed to it. */
export interface Side {
  readonly name: SideName;
  start(at_ns: number): Reaction;
  /** Called with what was seen at this moment, or with nothing when the side asked to be woken. */
  observe(at_ns: number, sights: readonly Sight[]): Reaction;
}
