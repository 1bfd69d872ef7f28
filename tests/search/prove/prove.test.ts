// The proof of the bundled machines of DIN SPEC 70121, and machines with a plausible mistake, which it must catch by the
// right rule. Mistakes are made in the tables: one cell of a compiled machine is changed.
import { describe, expect, it } from 'vitest';
import { compileTable, type MachineTable } from '../../../src/machine/table.ts';
import { protocols } from '../../../src/protocols/index.ts';
import { explore } from '../../../src/search/explore/explore.ts';
import { productOf } from '../../../src/search/prove/product.ts';
import { prove } from '../../../src/search/prove/prove.ts';
import { machines } from '../../support/machines.ts';

const din = machines.din70121!;
const protocol = protocols.din70121;

/** A copy in which, wherever the first input does something, the second does the same. */
function confusing(
  machine: MachineTable,
  meant: (type: string, facts: Readonly<Record<string, string>>) => boolean,
  done: (type: string, facts: Readonly<Record<string, string>>) => boolean,
): MachineTable {
  const { inputs } = machine;
  const [next, output] = [machine.next.slice(), machine.output.slice()];
  const find = (wanted: typeof meant): number =>
    inputs.findIndex(({ type, example }) => wanted(type, example));
  const [from, to] = [find(meant), find(done)];
  expect([from, to]).not.toContain(-1);
  let changed = 0;
  for (let state = 0; state < machine.states.length; state += 1) {
    const [a, b] = [state * inputs.length + from, state * inputs.length + to];
    if (output[a] === 0 || (next[a] === next[b] && output[a] === output[b])) continue;
    next[b] = next[a]!;
    output[b] = output[a]!;
    changed += 1;
  }
  expect(changed).toBeGreaterThan(0);
  return { ...machine, next, output };
}

async function firstBroken(tables: Record<'vehicle' | 'charger', MachineTable>) {
  const { model } = productOf(tables, protocol, { faults: 0 });
  const found = await explore(model, { stopAtFirst: true, limits: { states: 3_000_000 } });
  const broken = found.invariants.find(({ verdict }) => verdict === 'broken');
  return { rule: broken?.name, last: broken?.trace?.steps.at(-1)?.command };
}

describe('a machine with a mistake', () => {
  it('closes outside the gate', async () => {
    const vehicle = confusing(
      compileTable(din.vehicle),
      (type, { gate }) => type === 'choose.power' && gate === 'inside',
      (type, { gate }) => type === 'choose.power' && gate === 'outside',
    );
    const found = await firstBroken({ vehicle, charger: compileTable(din.charger) });
    expect(found.rule).toBe('gate-before-close');
    expect(found.last).toBe('vehicle: choose.power, and sends');
  });

  it('opens its contactor on a flowing current', async () => {
    const vehicle = confusing(
      compileTable(din.vehicle),
      (type, { current }) => type === 'choose.open' && current !== 'flowing',
      (type, { current }) => type === 'choose.open' && current === 'flowing',
    );
    const found = await firstBroken({ vehicle, charger: compileTable(din.charger) });
    expect(found.rule).toBe('open-cold');
  }, 300_000);

  it('unlocks a live inlet', async () => {
    const vehicle = confusing(
      compileTable(din.vehicle),
      (type, { inlet }) => type === 'choose.unlock' && inlet === 'safe',
      (type, { inlet }) => type === 'choose.unlock' && inlet === 'live',
    );
    const found = await firstBroken({ vehicle, charger: compileTable(din.charger) });
    expect(found.rule).toBe('cold-unlock');
  }, 300_000);
});

describe('the bundled machines', () => {
  // Pinned: another count is another model.
  it.each([
    ['din70121', 100_293, 90],
    ['iso15118-2', 319_680, 100],
  ] as const)(
    'of %s hold, by a complete search',
    async (name, states, depth) => {
      const both = { ...machines[name]!, protocol: protocols[name] };
      const result = await prove({ ...both, faults: 0, limits: {} });
      expect(result.verdict).toBe('holds');
      expect(result.stoppedBy).toBeNull();
      expect([result.states, result.depth]).toEqual([states, depth]);
      expect(result.rules.filter(({ verdict }) => verdict === 'holds')).toHaveLength(8);
      expect(result.rules.filter(({ verdict }) => verdict === 'not modelled')).toHaveLength(6);
    },
    600_000,
  );

  it('are inconclusive where a limit ends the search', async () => {
    const result = await prove({ ...din, protocol, faults: 0, limits: { states: 20_000 } });
    expect(result.verdict).toBe('inconclusive');
    expect(result.stoppedBy).toBe('states');
    expect(result.rules.some(({ verdict }) => verdict === 'holds')).toBe(false);
  });
});
