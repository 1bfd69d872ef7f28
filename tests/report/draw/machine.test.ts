// State drawings: whole, marked as reached, inert and the same every time. Read with fast-xml-parser.
import { describe, expect, it } from 'vitest';
import { createSideMachine, send } from '../../../src/machine/chart.ts';
import { drawMachine } from '../../../src/report/draw/machine.ts';
import { machineOutline } from '../../../src/report/draw/outline.ts';
import { wayKey, type Overlay } from '../../../src/report/draw/overlay.ts';
import { coverageOverlay } from '../../../src/report/draw/proof-coverage.ts';
import { PathRecorder } from '../../../src/report/draw/trace-path.ts';
import { viewOf } from '../../../src/report/draw/view.ts';
import { InputError } from '../../../src/trace/input-error.ts';
import { bundled, HOSTILE, replayed, small, textOf } from './drawings.ts';

const idOf = (svg: string): string | undefined => / id="([^"]+)"/.exec(svg)?.[1];

const CLEAN = 'traces/field/din-clean.pcapng';

describe('the drawing of a machine', () => {
  it('has every state and every transition that can be taken', async () => {
    for (const [name, machine] of [['small', await small()] as const, ...(await bundled())]) {
      const outline = machineOutline(machine);
      const { shown, arrows, around, incoming } = viewOf(outline, {});
      expect([...shown.keys()], name).toEqual([...outline.states.keys()]);
      const told = [...arrows, ...[...shown.values()].flatMap(({ notes }) => notes)];
      const ways = told.flatMap((one) => one.ways);
      const possible = outline.ways.filter(({ when }) => when !== 'never');
      expect(new Set(ways).size, name).toBe(ways.length);
      expect(new Set(ways), name).toEqual(new Set(possible));
      expect([around, incoming], name).toEqual([[], []]);
    }
  });

  it('counts, where states are folded up, each transition once', async () => {
    for (const [name, machine] of await bundled()) {
      const outline = machineOutline(machine);
      const { shown, arrows } = viewOf(outline, { depth: 2 });
      const boxes = [...shown.values()];
      const told = [...arrows, ...boxes.flatMap(({ notes }) => notes)].flatMap((one) => one.ways);
      const inside = boxes.flatMap(({ within }) => within);
      const possible = outline.ways.filter(({ when }) => when !== 'never');
      expect(new Set([...told, ...inside]), name).toEqual(new Set(possible));
      expect(told.length + inside.length, name).toBe(possible.length);
    }
  });

  it('writes names, guards, outputs and timers', async () => {
    const words = textOf(await drawMachine(await small()));
    for (const expected of [
      'cableCheck',
      'may ask for power',
      'choose.power [gate inside] /',
      'contactors closed;',
      'on entry: pilot B; contactors open',
      '→ over: link.closed',
      'after 2 s: answer',
    ]) {
      expect(words).toContain(expected);
    }
  });

  it('is the same every time, and told apart from others in a page', async () => {
    const machine = await small();
    const [one, two] = [await drawMachine(machine), await drawMachine(machine)];
    expect(two).toBe(one);
    const part = await drawMachine(machine, null, { only: 'cableCheck' });
    expect(idOf(part)).not.toBe(idOf(one));
    // No rule reaches beyond its own drawing.
    const rules = /<style>(.*)<\/style>/.exec(one)![1]!;
    for (const rule of rules.replace(/@media[^{]+\{(.*)\}$/, '$1').matchAll(/([^{}]+)\{[^}]*\}/g)) {
      for (const selector of rule[1]!.split(',')) expect(selector.trim()).toMatch(/^(@media|#)/);
    }
  });

  it('leaves hostile names inert', async () => {
    const machine = createSideMachine({
      id: 'vehicle',
      side: 'vehicle',
      protocol: 'din70121',
      delays: {},
      alphabet: { 'choose.next': {} },
      chart: {
        initial: 'a',
        states: {
          a: {
            description: HOSTILE,
            tags: [HOSTILE],
            on: { 'choose.next': { target: 'b', actions: [send({ message: HOSTILE })] } },
          },
          b: { description: HOSTILE.repeat(1000) },
        },
      },
    });
    const svg = await drawMachine(machine, null, { title: HOSTILE });
    expect(textOf(svg)).toContain('harm=1');
    for (const one of ['<script', '\u0000', '\u202e']) expect(svg).not.toContain(one);
  });

  it('says which states there are when one is not', async () => {
    const drawing = drawMachine(await small(), null, { only: 'nowhere.waits' });
    await expect(drawing).rejects.toThrow(InputError);
    await expect(drawing).rejects.toThrow('handshake.waits');
  });
});

describe('marks', () => {
  it('stand on what was reached, and on nothing else', async () => {
    const machine = await small();
    const { ways } = machineOutline(machine);
    const taken = ways.find(({ event, from }) => event === 'choose.power' && from === 'closes')!;
    const overlay: Overlay = {
      says: 'this',
      states: new Map([['closes', 'here']]),
      ways: new Set([wayKey(taken)]),
    };
    const svg = await drawMachine(machine, overlay);
    const marked = [...svg.matchAll(/data-state="([^"]*)"><title>.*?<rect class="([^"]+)"/g)];
    const reached = marked
      .filter(([, , kind]) => kind!.includes('reached'))
      .map(([, path]) => path);
    expect(reached).toEqual(['', 'closes']);
    const arrows = [
      ...svg.matchAll(/data-from="(\w+)" data-to="(\w+)"><title>.*?class="([^"]+)"/g),
    ];
    const heavy = arrows.filter(([, , , kind]) => kind!.includes('taken'));
    expect(heavy.map(([, from, to]) => [from, to])).toEqual([['closes', 'starts']]);
  });

  it('show the way of a recorded session', async () => {
    const [, machine] = (await bundled())[0]!;
    const recorder = new PathRecorder(machine, null);
    await replayed(CLEAN, recorder);
    const { states, ways } = recorder.overlay('');
    // Messages of the session, in the order in which any session has them (DIN SPEC 70121, 9.7).
    for (const state of [
      'setup.handshake.decides',
      'setup.handshake.waits',
      'preparing.cableCheck.testing.waits',
      'transfer.starting',
      'transfer.running.waits',
      'stopping',
      'stopped.waits',
      'ending',
    ]) {
      expect([...states.keys()]).toContain(state);
    }
    for (const state of ['crashed.open', 'stopNow.waits', 'failing.open', 'transfer.asked.waits']) {
      expect([...states.keys()]).not.toContain(state);
    }
    const events = [...ways].map((key) => (JSON.parse(key) as string[])[2]);
    expect(events).toContain('CurrentDemandRes');
    expect(events).not.toContain('signal.crash');
  });

  it('take from a proof what it missed', async () => {
    const outline = machineOutline(await small());
    const coverage = {
      states: { reached: 10, total: 11, missed: ['starts'] },
      transitions: { reached: 1, total: 2, missed: ['closes → starts on choose.power'] },
    };
    const { states, ways } = coverageOverlay(outline, coverage, '');
    expect(states.size).toBe(10);
    expect(states.has('starts')).toBe(false);
    const missed = outline.ways.filter((way) => !ways.has(wayKey(way)));
    expect(new Set(missed.map(({ from }) => from))).toEqual(new Set(['closes', 'starts']));
  });
});
