// The field values a trace may hold, once, for the reader, the CSV columns and the writer's key order.
import type { Observation } from './observation.ts';

export type Kind = Observation['kind'];
export type ObservationOf<K extends Kind> = Extract<Observation, { kind: K }>;

const set = <T extends string>(...values: T[]): ReadonlySet<T> => new Set(values);

export const SIDES = set('vehicle', 'charger');
export const PROTOCOLS = set('slac', 'sdp', 'app-protocol', 'din70121', 'iso15118-2');
export const LINK_STATES = set<ObservationOf<'link'>['state']>(
  'opened',
  'joined',
  'closed',
  'reset',
  'gap',
  'encrypted',
  'unreadable',
);
export const PILOT_STATES = set('A', 'B', 'C', 'D', 'E', 'F');
export const VOLTAGE_PLACES = set('output', 'inlet', 'battery');
export const CONTACTOR_STATES = set('open', 'closed');
export const LOCK_STATES = set('locked', 'unlocked');
export const PLUG_STATES = set('in', 'out');
export const TEMPERATURE_PLACES = set('cell', 'connector', 'inlet', 'cable', 'coolant', 'ambient');
export const ALARMS = set('none', 'stop asked', 'fault', 'emergency', 'crash');
export const NOTE_PROBLEMS = set('damaged', 'cut', 'clock', 'unsupported');

/** Link-layer address, lower case with colons. */
export const MAC_ADDRESS = /^[0-9a-f]{2}(?::[0-9a-f]{2}){5}$/;

/**
 * Every field of each kind in the order it is written after `at`: kind, from, name, message, frame and protocol
 * first, since they are what a reader's eye and a line scanner look for.
 */
export const FIELD_ORDER = {
  message: [
    'kind',
    'from',
    'name',
    'message',
    'frame',
    'protocol',
    'header',
    'link',
    'sender',
    'receiver',
    'recorder',
  ],
  link: [
    'kind',
    'from',
    'frame',
    'link',
    'state',
    'bytes',
    'byte',
    'says',
    'vehicleAddress',
    'chargerAddress',
    'vehicleEnd',
    'chargerEnd',
    'recorder',
  ],
  pilot: ['kind', 'frame', 'state', 'voltage_V', 'negative_V', 'pwm', 'duty_percent', 'recorder'],
  voltage: ['kind', 'frame', 'place', 'voltage_V', 'recorder'],
  current: ['kind', 'frame', 'current_A', 'recorder'],
  contactor: ['kind', 'frame', 'side', 'state', 'recorder'],
  lock: ['kind', 'frame', 'state', 'recorder'],
  plug: ['kind', 'frame', 'state', 'recorder'],
  temperature: ['kind', 'frame', 'place', 'temperature_C', 'recorder'],
  cells: ['kind', 'frame', 'lowest_V', 'highest_V', 'recorder'],
  isolation: ['kind', 'frame', 'resistance_ohm', 'ratedVoltage_V', 'recorder'],
  alarm: ['kind', 'frame', 'side', 'alarm', 'says', 'recorder'],
  note: ['kind', 'frame', 'says', 'problem', 'byte', 'recorder'],
} as const satisfies { [K in Kind]: readonly (keyof ObservationOf<K>)[] };
