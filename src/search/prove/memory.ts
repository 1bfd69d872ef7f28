// What the rules remember of the dialogue, and how one message changes it: tables over message × place × state.
import type { Consents } from '../../facts/consent.ts';
import { covers, type Act, type Consent, type Facts } from '../../facts/vocabulary.ts';
import { deadOutput_s, emergencyEnd_s, pilotLossEnd_s } from '../../facts/figures.ts';
import { ignores } from '../../machine/table.ts';
import type { TableTerm, Term } from '../model/build.ts';
import { ownDuties } from './arrivals.ts';
import { tellsFault } from '../../facts/weld.ts';
import { Change } from './change.ts';
import { actOfSaid, ASKED, nextAsked, nextStopNow } from './dialogue.ts';
import { demandOf, PLACES } from './exchange.ts';
import { TICK_ms } from './side-tables.ts';
import type { System } from './system.ts';

export const ACTS: readonly (Act | null)[] = [
  null,
  'setup',
  'test',
  'approach',
  'power',
  'demand',
  'stop',
  'renegotiate',
  'weld check',
  'end',
];
export const CONSENTS: readonly Consent[] = [
  'none',
  'test',
  'approach',
  'power',
  'withdrawn',
  'unknown',
];

export interface Memory {
  /** [message, place] */
  readonly act: TableTerm;
  readonly nextAsked: TableTerm;
  readonly nextStopNow: TableTerm;
  readonly isOk: TableTerm;
  /** 1 where the message tells a fault of its sender. */
  readonly tellsFault: TableTerm;
  /** 0 none, 1 this, 2 foreign. */
  readonly session: TableTerm;
  readonly demand: TableTerm;
  /** [consents, message × place] */
  readonly nextConsents: TableTerm;
  readonly nextIsolation: TableTerm;
  /** [consents] */
  readonly vehicleConsent: TableTerm;
  readonly chargerConsent: TableTerm;
  readonly mayFlow: TableTerm;
  /** Either side has taken back a consent it had given. */
  readonly withdrawn: TableTerm;
  /** [message × place] → ticks + 1 of the duty its own answer arms in the charger, 0 for none. */
  readonly ownDuty: TableTerm;
  /** [message] → ticks + 1 that the vehicle waits for the answer. */
  readonly patience: TableTerm;
  /** [state of the side that stands alone, message] → 1 where it takes notice of the message. */
  readonly reads: TableTerm;
  readonly isolationStates: readonly Facts['isolation'][];
}

/** Tables over the consents alone. */
function consentTables({ builder, exchange }: System) {
  const { states } = exchange.consents;
  const table = (name: string, value: (consents: Consents) => number): TableTerm =>
    builder.table(name, [states.length], states.map(value));
  return {
    vehicleConsent: table('vehicle_consent', ({ vehicle }) => CONSENTS.indexOf(vehicle)),
    chargerConsent: table('charger_consent', ({ charger }) => CONSENTS.indexOf(charger)),
    mayFlow: table('may_flow', ({ vehicle, charger }) =>
      Number(covers(vehicle, 'power') === true || covers(charger, 'power') === true),
    ),
    withdrawn: table('withdrawn', ({ vehicle, charger }) =>
      Number(vehicle === 'withdrawn' || charger === 'withdrawn'),
    ),
  };
}

export function memoryOf(system: System, timeout_ns: (request: string) => number): Memory {
  const { builder, exchange } = system;
  const { classes, consents, isolation } = exchange;
  const inputs = classes.length * PLACES;
  const perPlace = (name: string, value: (message: number, place: number) => number): TableTerm =>
    builder.table(
      name,
      [inputs],
      Array.from({ length: inputs }, (_, at) => value(Math.floor(at / PLACES), at % PLACES)),
    );
  const perMessage = (name: string, value: (message: number) => number): TableTerm =>
    builder.table(
      name,
      [classes.length],
      classes.map((_, message) => value(message)),
    );
  return {
    act: perPlace('act', (message, place) =>
      ACTS.indexOf(actOfSaid(exchange.said(message, place))),
    ),
    nextAsked: perMessage('next_asked', (message) =>
      ASKED.indexOf(nextAsked(classes[message]!.reading)),
    ),
    nextStopNow: perPlace('next_stop_now', (message, place) =>
      Number(nextStopNow(classes[message]!.reading, place % 2 === 1)),
    ),
    isOk: perMessage('is_ok', (message) => Number(classes[message]!.reading.ok === true)),
    tellsFault: perMessage('tells_fault', (message) =>
      Number(tellsFault(classes[message]!.reading)),
    ),
    session: perMessage('session', (message) => {
      const { session } = classes[message]!.reading;
      return session === undefined ? 0 : session === 'this' ? 1 : 2;
    }),
    demand: perMessage('demand', (message) =>
      [null, 'none', 'some'].indexOf(demandOf(classes[message]!)),
    ),
    nextConsents: builder.table('next_consents', [consents.states.length, inputs], consents.next),
    nextIsolation: builder.table(
      'next_isolation',
      [isolation.states.length, inputs],
      isolation.next,
    ),
    ...consentTables(system),
    ownDuty: builder.table('own_duty', [inputs], ownDuties(exchange)),
    patience: perMessage('patience_of', (message) => {
      const { from, reading } = classes[message]!;
      // A tick more than the timer: at the very moment it runs out an answer may still count.
      return from === 'vehicle' ? 2 + Math.ceil(timeout_ns(reading.name) / 1e6 / TICK_ms) : 0;
    }),
    reads: readsOf(system),
    isolationStates: isolation.states,
  };
}

function readsOf({ builder, exchange, alone, vehicle, charger }: System): TableTerm {
  const machine = alone === 'charger' ? charger.machine : vehicle.machine;
  const { states } = machine;
  const { classes } = exchange;
  const values =
    alone === undefined
      ? [1]
      : states.flatMap((_, state) =>
          classes.map(({ input }) => Number(input >= 0 && !ignores(machine, state, input))),
        );
  const dimensions = alone === undefined ? [1, 1] : [states.length, classes.length];
  return builder.table('reads', dimensions, values);
}

/** Ticks + 1 for an output that no consent covers any more to fall to 60 V. */
export const DISCHARGE = 2 + Math.ceil((deadOutput_s.value * 1000) / TICK_ms);

/** Ticks + 1 for the current to end once the pilot has left C. */
export const PILOT_LOSS = 2 + Math.ceil((pilotLossEnd_s.value * 1000) / TICK_ms);

/** Ticks + 1 for the current to end after an emergency stop. */
export const EMERGENCY = 2 + Math.ceil((emergencyEnd_s.value * 1000) / TICK_ms);

/** Column of a message in its place. */
export function placed({ is }: System, message: Term, change = new Change()): Term {
  const [asked, stopNow] = [change.now(is.asked), change.now(is.stopNow)];
  return message.times(PLACES).plus(asked.times(2)).plus(stopNow);
}
