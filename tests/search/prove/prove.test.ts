// The proof of the bundled machines, and machines with a plausible mistake, which it must catch by the right rule, by a
// shortest way.
import { describe, expect, it } from 'vitest';
import { protocols } from '../../../src/protocols/index.ts';
import { prove } from '../../../src/search/prove/prove.ts';
import type { Recording } from '../../../src/search/prove/recording.ts';
import { brokenMachines } from '../../support/broken-machines.ts';
import { machines } from '../../support/machines.ts';
import { rulesBroken } from '../../support/replayed.ts';

/** Counterexamples in which the replay does not see the breach, and why. */
const SEEN_OTHERWISE: Readonly<Record<string, string>> = {
  'misses the timeout in energy transfer':
    'a demand answered within 1 s is late for the model, a matter of performance for the rule',
  'says nothing of a welded contactor':
    'the rule looks at the inlet only after an answer to a stop, and for half a second',
  'goes on delivering after its own emergency':
    "to the rule the vehicle's time to stop runs from the answer's sending, to the model from its arrival",
  'stays live while it renegotiates':
    'the rule gives the output a second after the contactor opens, the model none',
};

describe('a machine with a mistake', () => {
  it('is one of at least twelve', () => {
    expect(brokenMachines.length).toBeGreaterThanOrEqual(12);
  });

  it.each(brokenMachines)(
    '$side that $name',
    async ({ name, protocol, side, rule, faults, make }) => {
      const both = { ...machines[protocol]!, [side]: make(), protocol: protocols[protocol] };
      let recording: Recording | undefined;
      const onBroken = async (_: string, one: Recording): Promise<null> => {
        recording = one;
        return null;
      };
      const result = await prove({ ...both, faults, limits: {}, stopAtFirst: true, onBroken });
      const broken = result.rules.filter(({ verdict }) => verdict === 'broken');
      expect(broken.map((one) => one.rule)).toEqual([rule]);
      expect(result.verdict).toBe('broken');
      expect(broken[0]!.counterexample!.length).toBe(result.depth);
      // As a recording it shows the same; where it does not, a rule's windows over time say otherwise than the model.
      const replayed = await rulesBroken(recording!);
      if (name in SEEN_OTHERWISE) expect(replayed).not.toContain(rule);
      else expect(replayed).toContain(rule);
    },
    120_000,
  );
});

describe('the bundled machines', () => {
  // Pinned: another count is another model.
  it.each([
    ['din70121', 0, 163_062, 93],
    ['din70121', 1, 1_275_155, 108],
    ['iso15118-2', 1, 3_844_261, 124],
  ] as const)(
    'of %s hold with at most %d faults, by a complete search',
    async (name, faults, states, depth) => {
      const both = { ...machines[name]!, protocol: protocols[name] };
      const result = await prove({ ...both, faults, limits: {} });
      expect(result.stoppedBy).toBeNull();
      expect([result.states, result.depth]).toEqual([states, depth]);
      const verdicts = (wanted: string): string[] =>
        result.rules.filter(({ verdict }) => verdict === wanted).map(({ rule }) => rule);
      // Nothing crashes and nothing welds where there are no faults.
      expect(verdicts('vacuous')).toEqual(faults === 0 ? ['crash-isolates', 'welded-told'] : []);
      expect(result.verdict).toBe(faults === 0 ? 'vacuous' : 'holds');
      expect(verdicts('holds')).toHaveLength(faults === 0 ? 9 : 11);
      expect(verdicts('not modelled')).toEqual(['within-limits', 'follows-demand', 'forward-only']);
      expect(result.coverage.vehicle.states.missed).toEqual(
        faults === 0 ? ['crashed.open', 'crashed.unlocked'] : [],
      );
      // An honest vehicle never speaks for another session, and asks a charger that stops for no new parameters.
      const dark = ['first', 'ongoing'].map(
        (round) => `renegotiating.dark.${round}.answers.prompt`,
      );
      expect(result.coverage.charger.states.missed).toEqual(
        name === 'iso15118-2' ? ['refusesSession', ...dark] : ['refusesSession'],
      );
    },
    600_000,
  );

  it('are inconclusive where a limit ends the search', async () => {
    const both = { ...machines.din70121!, protocol: protocols.din70121 };
    const result = await prove({ ...both, faults: 0, limits: { states: 20_000 } });
    expect(result.verdict).toBe('inconclusive');
    expect(result.stoppedBy).toBe('states');
    expect(result.rules.some(({ verdict }) => verdict === 'holds')).toBe(false);
  });
});
