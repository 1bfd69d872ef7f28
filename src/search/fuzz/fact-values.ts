// Every value of every fact the rules read, for the reach of a campaign. The compiler checks that none is missing.
import type { Facts } from '../../facts/vocabulary.ts';

/** Facts of one step alone, which no reach is told of. */
type Fleeting = 'vehicleAct' | 'chargerAct' | 'session' | 'answers' | 'whole';
export type LastingFact = Exclude<keyof Facts, Fleeting>;

const ALARMS = { none: 0, 'stop asked': 0, fault: 0, emergency: 0, crash: 0, unknown: 0 } as const;
const CONSENTS = { none: 0, test: 0, approach: 0, power: 0, withdrawn: 0, unknown: 0 } as const;
const DUTIES = {
  none: 0,
  running: 0,
  met: 0,
  doubtful: 0,
  late: 0,
  ignored: 0,
  unobserved: 0,
} as const;
const VOLTAGES = { safe: 0, live: 0, unknown: 0 } as const;
const YES_NO = { no: 0, yes: 0, unknown: 0 } as const;
const BOUNDS = { within: 0, doubtful: 0, over: 0, unknown: 0 } as const;
const SWITCHES = { open: 0, closed: 0, unknown: 0 } as const;

const values: { readonly [F in LastingFact]: Readonly<Record<Facts[F], 0>> } = {
  plugged: YES_NO,
  locked: YES_NO,
  pilot: { A: 0, B: 0, C: 0, D: 0, E: 0, F: 0, unknown: 0 },
  vehicleConsent: CONSENTS,
  chargerConsent: CONSENTS,
  isolation: { untested: 0, testing: 0, valid: 0, warning: 0, fault: 0, unknown: 0 },
  outputVoltage: VOLTAGES,
  inletVoltage: VOLTAGES,
  outputDriven: YES_NO,
  gate: { outside: 0, doubtful: 0, inside: 0, unknown: 0 },
  vehicleContactor: SWITCHES,
  chargerContactor: SWITCHES,
  current: { none: 0, idle: 0, low: 0, flowing: 0, reverse: 0, unknown: 0 },
  reverse: { no: 0, slight: 0, plain: 0 },
  limits: BOUNDS,
  demand: BOUNDS,
  cells: {
    within: 0,
    'over-voltage': 0,
    'under-voltage': 0,
    'too cold': 0,
    'too hot': 0,
    unknown: 0,
  },
  link: { fresh: 0, stale: 0, closed: 0, unknown: 0 },
  asked: { nothing: 0, current: 0, unknown: 0 },
  silent: { nobody: 0, vehicle: 0, charger: 0 },
  vehicleAlarm: ALARMS,
  chargerAlarm: ALARMS,
  vehicleStop: DUTIES,
  chargerStop: DUTIES,
  crashDuty: DUTIES,
  weld: { no: 0, falling: 0, stays: 0, unknown: 0 },
  weldTold: { no: 0, yes: 0 },
};

export const FACTS = Object.keys(values) as readonly LastingFact[];

/** Number of each fact and value: `current flowing` → 31. */
const numbers: ReadonlyMap<string, number> = new Map(
  FACTS.flatMap((fact) => Object.keys(values[fact]).map((value) => `${fact} ${value}`)).map(
    (word, number) => [word, number],
  ),
);

export const FACT_VALUE_COUNT = numbers.size;
export const factValueWords = (): readonly string[] => [...numbers.keys()];

/** For each fact, in the order of FACTS: its values with their numbers. */
export const factNumbers: readonly ReadonlyMap<string, number>[] = FACTS.map(
  (fact) =>
    new Map(Object.keys(values[fact]).map((value) => [value, numbers.get(`${fact} ${value}`)!])),
);
