// The messages of a protocol as integers: classes that neither receiver nor rule tells apart, and for each class what
// it does to the consents, to the isolation latch and to the duties, as tables.
import type { Consents } from '../../facts/consent.ts';
import type { Facts } from '../../facts/vocabulary.ts';
import { tellsFault } from '../../facts/weld.ts';
import type { MachineEvent, Send } from '../../machine/convention.ts';
import type { MachineTable } from '../../machine/table.ts';
import type { Dialect } from '../../protocols/system-c/dialect.ts';
import type { Side } from '../../trace/observation.ts';
import {
  actOfSaid,
  ASKED,
  consentKey,
  initialConsent,
  nextAsked,
  nextStopNow,
  stepConsent,
  stepLatch,
  triggersOf,
  type Said,
} from './dialogue.ts';
import { fold, inputClasses, type Folded } from './fold.ts';
import { messagesBetween, type MessageClass } from './messages.ts';

/** One message in its place: class × what was asked before × whether a stop notice stood. */
export const PLACES = ASKED.length * 2;

/** The end of the connection withdraws both consents: to the folds it is one more message. */
const LINK_CLOSES: MessageClass = {
  from: 'vehicle',
  example: { type: 'link closes' },
  reading: {
    at_ns: 0,
    frame: null,
    from: null,
    name: 'link closes',
    evidence: 'reported',
    link: 'closed',
  },
  input: -1,
};

export interface Exchange {
  readonly classes: readonly MessageClass[];
  /** Input of the folds: `message * PLACES + asked * 2 + stopNow`. */
  readonly consents: Folded<Consents>;
  readonly isolation: Folded<Facts['isolation']>;
  classesOf(from: Side, send: Send): readonly number[];
  /** The end of the connection, as a class that nobody sends. */
  readonly linkCloses: number;
  /** By consents: the consents they count as once the charger can energise nothing any more. */
  readonly spentConsents: readonly number[];
  said(message: number, place: number): Said;
}

export function exchangeBetween(
  vehicle: MachineTable,
  charger: MachineTable,
  dialect: Dialect,
  alone?: Side,
): Exchange {
  const spoken = messagesBetween(vehicle, charger, dialect);
  const all = { ...spoken, classes: [...spoken.classes, LINK_CLOSES] };
  const inputs = all.classes.flatMap(placesOf);
  const consents = fold(initialConsent, inputs, stepConsent, consentKey);
  const isolation = fold('untested', inputs, stepLatch, (state) => state);
  const { classOf, representatives } = inputClasses(
    all.classes.map((message, index) => {
      const judged = alone === undefined || message.from === alone;
      return signature(message, index, { consents, isolation, judged });
    }),
  );
  const classes = representatives.map((index) => all.classes[index]!);
  return {
    classes,
    consents: kept(consents, representatives),
    isolation: kept(isolation, representatives),
    classesOf: (from, send) => {
      const own = all.classesOf(from, send).map((message) => classOf[message]!);
      return [...new Set(own)].toSorted((a, b) => a - b);
    },
    linkCloses: classOf.at(-1)!,
    spentConsents: consents.states.map((_, state) => spentOf(consents.states, state)),
    said: (message, place) => placesOf(classes[message]!)[place]!,
  };
}

function placesOf({ reading }: MessageClass): Said[] {
  return ASKED.flatMap((asked) => [false, true].map((stopNow) => ({ reading, asked, stopNow })));
}

interface Judged {
  readonly consents: Folded<Consents>;
  readonly isolation: Folded<Facts['isolation']>;
  /** Whether the rules judge what the message's sender does. */
  readonly judged: boolean;
}

function signature(
  message: MessageClass,
  index: number,
  { consents, isolation, judged }: Judged,
): (string | number)[] {
  const { reading, from, input } = message;
  // What a side grants or asks by a message is read by the rules about that side only.
  const own = judged ? `${reading.ok} ${reading.session}` : String(tellsFault(reading));
  const row: (string | number)[] = [from, input, `${own} ${demandOf(message)}`];
  for (const [place, said] of placesOf(message).entries()) {
    const column = index * PLACES + place;
    const act = judged ? actOfSaid(said) : null;
    row.push(`${act} ${nextAsked(reading)} ${nextStopNow(reading, said.stopNow)}`);
    for (const folded of [consents, isolation]) {
      for (let state = 0; state < folded.states.length; state += 1) {
        row.push(folded.next[state * folded.inputs + column]!);
      }
    }
    for (const state of isolation.states) row.push(triggersOf(said, state).join());
  }
  return row;
}

/** What a rule still reads of the consents once the charger is spent. */
const part = ({ vehicle, vehicleFinal, vehicleError }: Consents): string =>
  vehicle === 'power' ? 'power' : vehicleFinal ? 'final' : `open ${String(vehicleError)}`;

/**
 * Once the charger is spent, only the vehicle's part of the consents is read: whether it stands at power (its duties to
 * stop), and whether it may still come to that. States alike in this are one.
 */
function spentOf(states: readonly Consents[], state: number): number {
  const wanted = part(states[state]!);
  const alike = states.findIndex(
    (one) => one.chargerFinal && one.charger === 'withdrawn' && part(one) === wanted,
  );
  return alike < 0 ? state : alike;
}

/** Only the columns of the kept classes. */
function kept<S>(folded: Folded<S>, classes: readonly number[]): Folded<S> {
  const inputs = classes.length * PLACES;
  const next = new Int32Array(folded.states.length * inputs);
  for (let state = 0; state < folded.states.length; state += 1) {
    for (const [at, old] of classes.entries()) {
      const from = state * folded.inputs + old * PLACES;
      next.set(folded.next.subarray(from, from + PLACES), state * inputs + at * PLACES);
    }
  }
  return { states: folded.states, inputs, next };
}

/** What a request to deliver asks for, if it is one. */
export function demandOf({ example }: { example: MachineEvent }): 'some' | 'none' | null {
  if (example.type !== 'CurrentDemandReq') return null;
  return example.demand === 'none' ? 'none' : 'some';
}
