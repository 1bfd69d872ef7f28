// Outside checks: the published schema through ajv, XState's own step on what was read back.
import { Ajv2020 } from 'ajv/dist/2020.js';
import * as fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { createActor, SimulatedClock } from 'xstate';
import type { MachineEvent, SideMachine } from '../../src/machine/convention.ts';
import schema from '../../src/machine/machine-table.schema.json' with { type: 'json' };
import { createStepper, type StateView, type Step } from '../../src/machine/step.ts';
import type { MachineFile } from '../../src/machine/table-format.ts';
import { readTable } from '../../src/machine/table-read.ts';
import { writeTable } from '../../src/machine/table-write.ts';
import { compileTable, type MachineTable } from '../../src/machine/table.ts';
import { InputError } from '../../src/trace/input-error.ts';
import { handMade } from './data/hand-made.ts';
import { anyWalk, bundled, eventsOf, walk } from './table-walk.ts';

const through = (table: MachineTable): SideMachine =>
  readTable(JSON.parse(JSON.stringify(writeTable(table))), 'machine.json');

describe.each(bundled)('the %s, written and read again', (_, side) => {
  const table = compileTable(side);
  const again = through(table);

  it('keeps the published schema', () => {
    const validate = new Ajv2020().compile(schema);
    expect(validate(writeTable(table)), JSON.stringify(validate.errors)).toBe(true);
  });

  it('behaves the same on random walks', () => {
    fc.assert(
      fc.property(anyWalk(side), (picks) => {
        expect(told(again, eventsOf(table, picks))).toEqual(told(side, eventsOf(table, picks)));
      }),
      { numRuns: 60 },
    );
  });

  it('can be compiled like any machine, and written the same', () => {
    const second = compileTable(again);
    expect(second.states).toHaveLength(table.states.length);
    expect(writeTable(second)).toEqual(writeTable(table));
    fc.assert(
      fc.property(anyWalk(again), (picks) => void walk(second, again, eventsOf(second, picks))),
      { numRuns: 30 },
    );
  });
});

/** What a machine does on a list of events, in words that do not depend on its inner names. */
function told(side: SideMachine, events: readonly MachineEvent[]): unknown[] {
  const stepper = createStepper(side);
  let state = stepper.initial.next;
  const lines = [tell(stepper.initial, stepper.view(state))];
  for (const event of events) {
    const { timers } = stepper.view(state);
    const timer = timers.find(({ name }) => event.type.startsWith(`xstate.after.${name}.`));
    const given = event.type.startsWith('xstate.') ? timer?.event : event;
    if (given === undefined) throw new Error(`${event.type} does not run`);
    const step = stepper.step(state, given);
    state = step.next;
    lines.push(tell(step, stepper.view(state)));
  }
  return lines;
}

function tell({ sends, drives, armed }: Step, { stage, says, timers }: StateView) {
  const running = timers.map(({ name, ms }) => `${name} ${ms}`).sort();
  const started = timers.filter(({ event }) => armed.includes(event.type)).map(({ name }) => name);
  return { sends, drives, started: started.sort(), stage, says, running };
}

describe('a controller written by hand', () => {
  const side = readTable(handMade(), 'hand-made.json');

  it('takes the first way that fits, and starts and keeps its timers as it says', () => {
    expect(told(side, [{ type: 'choose.next' }]).at(-1)).toEqual({
      sends: [{ message: 'PreChargeReq', session: 'this' }],
      drives: [],
      started: ['answer', 'pre-charge'],
      stage: 'pre-charge',
      says: 'waits for PreChargeRes',
      running: ['answer 2000', 'pre-charge 7000'],
    });
    const ok = { type: 'PreChargeRes', code: 'ok' };
    const asked = told(side, [{ type: 'choose.next' }, ok, { type: 'choose.next' }]);
    expect(asked.at(-1)).toMatchObject({ started: ['answer'], running: expect.any(Array) });
    expect(told(side, [{ type: 'choose.next' }, { ...ok, code: 'unknown' }]).at(-1)).toMatchObject({
      says: 'over',
      drives: [{ what: 'pilot', to: 'B' }],
    });
  });

  it('runs as an XState actor, where a kept timer runs out in its time', () => {
    const clock = new SimulatedClock();
    const actor = createActor(side.machine, { clock }).start();
    for (let round = 0; round < 4; round++) {
      actor.send({ type: 'choose.next' } as never);
      clock.increment(1_500);
      actor.send({ type: 'PreChargeRes', code: 'ok' } as never);
    }
    expect(actor.getSnapshot().value).toBe('decides');
    clock.increment(999);
    expect(actor.getSnapshot().value).toBe('decides');
    clock.increment(1);
    expect(actor.getSnapshot().value).toBe('over');
  });
});

function deep(): unknown {
  return JSON.parse('['.repeat(100_000) + ']'.repeat(100_000));
}

describe('a table that cannot be used', () => {
  it.each<[string, (file: MachineFile) => unknown, string]>([
    ['no object', () => 7, '/: is 7 (it must be of type object)'],
    [
      'no machine',
      (file) => ({ ...file, handfast: 'trace' }),
      '/handfast: is "trace" (it must be "machine")',
    ],
    [
      'another side',
      (file) => ({ ...file, side: 'grid' }),
      '/side: "grid" is not known here (use one of vehicle, charger)',
    ],
    ['nothing to begin with', (file) => ({ ...file, initial: undefined }), '/: initial is missing'],
    ['a word too many', (file) => ({ ...file, stats: {} }), '/: "stats" is not known here'],
    [
      'a beginning nowhere',
      (file) => ({ ...file, initial: { state: 'start' } }),
      '/initial/state: there is no state "start" (name one of `states`)',
    ],
    [
      'an event of XState',
      (file) => ({ ...file, events: { 'xstate.init': {} } }),
      '/events: "xstate.init" cannot be a name here',
    ],
    [
      'an unheard event',
      (file) => put(file, 'decides', { on: { 'choose.stop': [{}] } }),
      '/states/decides/on/choose.stop: "choose.stop" is not an event of this machine (add it to `events`',
    ],
    [
      'an unknown fact',
      (file) =>
        put(file, 'waits/PreChargeRes', { on: { PreChargeRes: [{ when: { pilot: ['B'] } }] } }),
      '/states/waits~1PreChargeRes/on/PreChargeRes/0/when: PreChargeRes has no fact "pilot"',
    ],
    [
      'a value that never comes',
      (file) => put(file, 'decides', { on: { PreChargeRes: [{ when: { code: ['maybe'] } }] } }),
      '/states/decides/on/PreChargeRes/0/when/code: "maybe" never comes (code of PreChargeRes may be ok, failed, unknown)',
    ],
    [
      'a way to nowhere',
      (file) => put(file, 'decides', { on: { 'choose.next': [{ to: 'wait' }] } }),
      '/states/decides/on/choose.next/0/to: there is no state "wait"',
    ],
    [
      'a timer without a delay',
      (file) => put(file, 'over', { after: { soon: {} } }),
      '/states/over/after/soon: there is no delay "soon" (add it to `delays`',
    ],
    [
      'a timer kept that is not there',
      (file) =>
        put(file, 'decides', { on: { 'choose.next': [{ to: 'over', keeps: ['pre-charge'] }] } }),
      '/states/decides/on/choose.next/0/keeps: "pre-charge" does not run in both states',
    ],
    [
      'an output that is neither',
      (file) => put(file, 'decides', { on: { 'choose.next': [{ outputs: [{ to: 'B' }] }] } }),
      '/states/decides/on/choose.next/0/outputs/0: is neither a message nor a command (give',
    ],
  ])('is refused with its place and the mend: %s', (_, change, message) => {
    const read = (): SideMachine => readTable(change(handMade()), 'hand-made.json');
    expect(read).toThrow(InputError);
    expect(read).toThrow(`hand-made.json: ${message}`);
  });

  it('may nest as deeply as it likes', () => {
    const events = { GO: { speed: [deep(), deep()] } };
    const keeps = [deep(), deep()];
    for (const file of [
      deep(),
      { ...handMade(), events },
      put(handMade(), 'over', { on: { GO: [{ keeps }] } }),
    ]) {
      expect(() => readTable(file, 'deep.json')).toThrow(InputError);
    }
  });

  it('never fails in another way, whatever stands in it', () => {
    const odd = fc.oneof(
      fc.jsonValue(),
      fc.constantFrom('over', 'choose.next', '__proto__', -1, 1e9, [[]], [{}]),
    );
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(), odd), { minLength: 1, maxLength: 3 }), (edits) => {
        const file = { whole: handMade() as unknown };
        for (const [place, value] of edits) {
          const places = placesIn(file);
          const [within, key] = places[place % places.length]!;
          within[key] = structuredClone(value);
        }
        try {
          readTable(file.whole, 'odd.json');
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { numRuns: 1_000 },
    );
  });
});

/** Every place in a value where something else could stand. */
function placesIn(value: unknown): [within: Record<string, unknown>, key: string][] {
  if (value === null || typeof value !== 'object' || Object.isFrozen(value)) return [];
  const within = value as Record<string, unknown>;
  const here = Object.keys(within).map((key) => [within, key] as [typeof within, string]);
  return [...here, ...Object.values(within).flatMap(placesIn)];
}

function put(file: MachineFile, name: string, state: object): unknown {
  return { ...file, states: { ...file.states, [name]: { ...file.states[name], ...state } } };
}
