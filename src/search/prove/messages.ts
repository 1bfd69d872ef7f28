// Every message the two sides can exchange, in classes that neither the receiver nor any rule tells apart.
import type { MachineEvent, Send } from '../../machine/convention.ts';
import { inputOf, type MachineTable } from '../../machine/table.ts';
import type { Dialect } from '../../protocols/system-c/dialect.ts';
import type { Side } from '../../trace/observation.ts';
import type { Reading } from '../../facts/reading.ts';
import { abstractReading } from './dialogue.ts';
import { inputClasses } from './fold.ts';

export interface MessageClass {
  readonly from: Side;
  /** A message of the class, with every fact. */
  readonly example: MachineEvent;
  readonly reading: Reading;
  /** The receiver's input for it. */
  readonly input: number;
}

export interface Messages {
  readonly classes: readonly MessageClass[];
  /** Classes a send may turn out as; a fact it leaves open may have any value. */
  classesOf(from: Side, send: Send): readonly number[];
}

/** No message has more combinations of open facts than this; the largest bundled one has some hundreds. */
const COMBINATIONS = 20_000;

export function messagesBetween(
  vehicle: MachineTable,
  charger: MachineTable,
  dialect: Dialect,
): Messages {
  const events: { from: Side; event: MachineEvent; input: number }[] = [];
  const eventsOf = new Map<string, number[]>();
  for (const [from, sender, receiver] of [
    ['vehicle', vehicle, charger],
    ['charger', charger, vehicle],
  ] as const) {
    for (const send of sendsOf(sender)) {
      const own: number[] = [];
      for (const event of completions(send, receiver)) {
        own.push(events.length);
        events.push({ from, event, input: inputOf(receiver, event) });
      }
      eventsOf.set(sendKey(from, send), own);
    }
  }
  const { classOf, representatives } = inputClasses(
    events.map(({ from, event, input }) => [
      from,
      input,
      JSON.stringify(abstractReading(event, dialect)),
    ]),
  );
  return {
    classes: representatives.map((index) => {
      const { from, event, input } = events[index]!;
      return { from, example: event, reading: abstractReading(event, dialect), input };
    }),
    classesOf: (from, send) => {
      const own = eventsOf.get(sendKey(from, send)) ?? [];
      return [...new Set(own.map((event) => classOf[event]!))].toSorted((a, b) => a - b);
    },
  };
}

function sendsOf({ outputs }: MachineTable): Send[] {
  const known = new Map<string, Send>();
  for (const { sends } of outputs) for (const send of sends) known.set(JSON.stringify(send), send);
  return [...known.values()];
}

const sendKey = (from: Side, send: Send): string => `${from} ${JSON.stringify(send)}`;

/** The messages a send may be. Every fact it names is as it says; the others may be anything a message carries. */
function completions({ message, ...given }: Send, receiver: MachineTable): MachineEvent[] {
  // A FAILED answer ends the session: nothing else it says counts any more.
  const failed = given.code !== undefined && given.code !== 'ok';
  let all: Record<string, string>[] = [{ type: message }];
  for (const [fact, domain] of Object.entries(receiver.of.alphabet[message] ?? {})) {
    // An honest message carries every fact it has, but the isolation status is optional in both protocols.
    const open = domain.filter((value) => value !== 'unknown' || fact === 'isolation');
    const free = failed ? open.slice(-1) : open;
    const values = given[fact] === undefined ? free : [given[fact]];
    all = all.flatMap((event) => values.map((value) => ({ ...event, [fact]: value })));
    if (all.length > COMBINATIONS) {
      throw new RangeError(
        `${message} leaves more than ${COMBINATIONS} combinations of facts open`,
      );
    }
  }
  return all as MachineEvent[];
}
