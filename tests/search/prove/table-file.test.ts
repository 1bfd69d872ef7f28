// A machine written as a table proves like the machine itself: the same states, steps and verdicts.
import { describe, expect, it } from 'vitest';
import type { SideMachine } from '../../../src/machine/convention.ts';
import { readTable } from '../../../src/machine/table-read.ts';
import { writeTable } from '../../../src/machine/table-write.ts';
import { compileTable } from '../../../src/machine/table.ts';
import { protocols } from '../../../src/protocols/index.ts';
import { quotientOf } from '../../../src/search/prove/quotient.ts';
import { withSharedTimers } from '../../../src/search/prove/shared-timers.ts';
import { prove } from '../../../src/search/prove/prove.ts';
import type { ProveResult } from '../../../src/search/prove/prove-result.ts';
import { machines } from '../../support/machines.ts';

const asTable = (machine: SideMachine): SideMachine =>
  readTable(JSON.parse(JSON.stringify(writeTable(compileTable(machine)))), 'machine.json');

async function proved(vehicle: SideMachine, charger: SideMachine) {
  const protocol = protocols.din70121;
  const result = await prove({ vehicle, charger, protocol, faults: 0, limits: {} });
  const { states, transitions, depth, verdict, neverTaken, rules } = result;
  return { states, transitions, depth, verdict, neverTaken, rules: rules.map(told) };
}

const told = ({ rule, verdict }: ProveResult['rules'][number]): string => `${rule} ${verdict}`;

describe('the machines of DIN SPEC 70121, exported', () => {
  it('prove like the originals', async () => {
    const { vehicle, charger } = machines.din70121!;
    const before = await proved(vehicle, charger);
    const after = await proved(asTable(vehicle), asTable(charger));
    expect(after).toEqual(before);
  }, 300_000);
});

/** What the model makes of a machine. */
const searched = (machine: SideMachine) => quotientOf(withSharedTimers(compileTable(machine)));

it.each(['vehicle', 'charger'] as const)('the %s of ISO 15118-2 is as large a model', (side) => {
  const machine = machines['iso15118-2']![side];
  const [before, after] = [searched(machine), searched(asTable(machine))];
  // States are found in another order: only their words can be compared.
  const words = ({ states }: typeof before) => states.map(({ says }) => says).toSorted();
  expect(words(after)).toEqual(words(before));
  expect(after.timers).toHaveLength(before.timers.length);
});
