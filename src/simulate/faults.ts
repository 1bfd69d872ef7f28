// What goes wrong in a simulation, and when.
import type { AlarmObservation, Side as SideName } from '../trace/observation.ts';

export type SensorName =
  | 'vehicle battery voltage'
  | 'vehicle inlet voltage'
  | 'vehicle current'
  | 'vehicle cells'
  | 'charger output voltage'
  | 'charger current'
  | 'charger isolation';

export type Fault = { readonly at_s: number } & (
  | {
      /** An alarm of one side's own: crash, gas, a stop button, an operator. */
      readonly what: 'alarm';
      readonly side: SideName;
      readonly alarm: AlarmObservation['alarm'];
      readonly says?: string;
    }
  /** The monitor's resistance goes there, in so many seconds. */
  | { readonly what: 'isolation'; readonly to_ohm: number; readonly over_s?: number }
  /** The vehicle's contactor stays where it is. */
  | { readonly what: 'weld' }
  | {
      readonly what: 'sensor';
      readonly sensor: SensorName;
      /** What it reads from then on: the value it has, nothing, a value of its own, or the true one and so much more. */
      readonly reads: 'stuck' | 'absent' | { readonly value: number } | { readonly more: number };
    }
  /** Nothing gets through any more. */
  | { readonly what: 'silence' }
  /** The connection ends at once, for both. */
  | { readonly what: 'disconnect' }
  /** The plug comes out. */
  | { readonly what: 'unplug' }
);
