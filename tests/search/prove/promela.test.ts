// The model of both sides under SPIN: as many reachable states, the same verdicts, and a shortest way to a breach as long.
// Clocks are digital, so SPIN counts their values, too; without clocks the same must hold.
import { describe, expect, it } from 'vitest';
import { protocols } from '../../../src/protocols/index.ts';
import type { Model } from '../../../src/search/model/form.ts';
import { promelaOf } from '../../../src/search/promela.ts';
import { prove, type ProveOptions } from '../../../src/search/prove/prove.ts';
import type { ProveResult } from '../../../src/search/prove/prove-result.ts';
import { brokenMachines } from '../../support/broken-machines.ts';
import { machines } from '../../support/machines.ts';
import { spin, type SpinOptions } from '../../support/spin.ts';
import { toolSkipped } from '../../support/tools.ts';

const check = 'the model of both sides against SPIN';
const skip = toolSkipped('spin', check) || toolSkipped('gcc', check);

type Given = Pick<ProveOptions, 'vehicle' | 'charger' | 'protocol' | 'faults' | 'untimed'>;

async function proved(given: Given): Promise<{ result: ProveResult; model: Model }> {
  let model: Model | undefined;
  const result = await prove({ ...given, limits: {}, onModel: (one) => void (model = one) });
  return { result, model: model! };
}

// Compiling takes longer than searching: without optimisation.
const spun = (model: Model, options: SpinOptions) =>
  spin(promelaOf(model), { mayEndAnywhere: true, optimise: '-O0', ...options });

describe.skipIf(skip)('SPIN', () => {
  it.each([
    ['din70121', false],
    ['din70121', true],
    ['iso15118-2', false],
  ] as const)(
    'reaches as many states of %s (untimed: %s), and comes to the same verdict',
    async (name, untimed) => {
      const both = { ...machines[name]!, protocol: protocols[name] };
      const { result, model } = await proved({ ...both, faults: 0, untimed });
      const { states, errors } = spun(model, { invariant: 'ALL' });
      expect(states).toBe(result.states);
      expect(errors === 0).toBe(result.verdict !== 'broken');
    },
    300_000,
  );

  it('needs as many steps to a breach', async () => {
    const mistake = brokenMachines.find(({ rule }) => rule === 'gate-before-close')!;
    const pair = { ...machines[mistake.protocol]!, [mistake.side]: mistake.make() };
    const protocol = protocols[mistake.protocol];
    const { result, model } = await proved({ ...pair, protocol, faults: 0 });
    const invariant = model.invariants.findIndex(({ name }) => name === mistake.rule);
    const { length } = result.rules.find(({ rule }) => rule === mistake.rule)!.counterexample!;
    expect(spun(model, { invariant, steps: length }).errors).toBeGreaterThan(0);
    expect(spun(model, { invariant, steps: length - 1 }).errors).toBe(0);
  }, 300_000);
});
