// Models that mean nothing are refused with the place; models that leave their ranges are told while they run.
import { describe, expect, test } from 'vitest';
import { explore } from '../../src/search/explore/explore.ts';
import { ModelBuilder } from '../../src/search/model/build.ts';
import type { Expr, Model } from '../../src/search/model/form.ts';
import { checkModel } from '../../src/search/model/check.ts';

const one: Expr = { kind: 'constant', value: 1 };
const PLAIN: Model = {
  name: 'plain',
  variables: [{ name: 'a', size: 3, initial: 0 }],
  tables: [{ name: 't', dimensions: [2, 2], values: Int32Array.of(0, 1, 2, 3) }],
  commands: [
    { name: 'go', choices: [], guard: one, updates: [{ variable: 'a', value: one }], labels: [] },
  ],
  invariants: [],
};
const go = PLAIN.commands[0]!;

function guardedBy(guard: Expr): Model {
  return { ...PLAIN, commands: [{ ...go, guard }] };
}

describe('the checker refuses', () => {
  const variable = (parts: object): Model => ({
    ...PLAIN,
    variables: [{ ...PLAIN.variables[0]!, ...parts }],
  });
  const table = (parts: object): Model => ({
    ...PLAIN,
    tables: [{ ...PLAIN.tables[0]!, ...parts }],
  });
  const big: Expr = { kind: 'constant', value: 2 ** 31 };
  const half: Expr = { kind: 'constant', value: 0.5 };
  const three: Expr = { kind: 'constant', value: 3 };
  const reading: Expr = { kind: 'variable', name: 'b' };
  const choosing: Expr = { kind: 'choice', name: 'k' };
  const flat: Expr = { kind: 'lookup', table: 't', indices: [one] };
  const outside: Expr = { kind: 'lookup', table: 't', indices: [three, one] };
  const cases: [string, Model, string][] = [
    ['no values', variable({ size: 0 }), 'variable a has 0 values, allowed are 1 to 16777216'],
    ['a start outside', variable({ initial: 3 }), 'variable a starts at 3, outside 0 … 2'],
    ['missing names', variable({ names: ['x'] }), 'variable a has 3 values and 1 names for them'],
    ['two of a name', { ...PLAIN, commands: [go, go] }, 'two of one name: command go'],
    ['no dimensions', table({ dimensions: [] }), 'table t needs dimensions of at least 1'],
    ['wrong cells', table({ dimensions: [3, 2] }), 'table t is 3 × 2 and holds 4 values, not 6'],
    ['unknown variable', guardedBy(reading), 'command go: unknown variable b'],
    ['unknown choice', guardedBy(choosing), 'command go: unknown choice k'],
    [
      'index arity',
      guardedBy(flat),
      'command go: table t has 2 dimensions and is read with 1 indices',
    ],
    [
      'too large',
      guardedBy(big),
      'command go: an expression can reach 2147483648 … 2147483648, beyond 32 bits',
    ],
    [
      'a fraction',
      guardedBy(half),
      'command go: an expression can reach 0.5 … 0.5, beyond 32 bits',
    ],
    [
      'unknown target',
      { ...PLAIN, commands: [{ ...go, updates: [{ variable: 'b', value: one }] }] },
      'command go: sets unknown variable b',
    ],
    [
      'a target twice',
      { ...PLAIN, commands: [{ ...go, updates: [...go.updates, ...go.updates] }] },
      'command go: sets variable a twice',
    ],
    [
      'a value never right',
      { ...PLAIN, commands: [{ ...go, updates: [{ variable: 'a', value: three }] }] },
      'command go: sets a to 3 … 3, outside 0 … 2',
    ],
    [
      'an unsure number of choices',
      { ...PLAIN, commands: [{ ...go, choices: [{ name: 'k', size: outside }] }] },
      'command go: the size of k may read outside a table',
    ],
    [
      'too many choices',
      {
        ...PLAIN,
        commands: [{ ...go, choices: [{ name: 'k', size: { kind: 'constant', value: 70_000 } }] }],
      },
      'command go: may be chosen in 70000 ways, allowed are 65536',
    ],
    [
      'a bad invariant',
      { ...PLAIN, invariants: [{ name: 'i', holds: reading }] },
      'invariant i: unknown variable b',
    ],
    ['a bad end', { ...PLAIN, mayEnd: reading }, 'mayEnd: unknown variable b'],
  ];

  test.each(cases)('%s', (_, model, message) => {
    expect(() => checkModel(model)).toThrow(message);
  });

  test('nothing else', () => {
    checkModel(PLAIN);
  });
});

describe('what goes wrong in a run is told with command and state', () => {
  test('a value outside its variable', async () => {
    const m = new ModelBuilder('counter');
    const [count, lamp] = [m.variable('count', 3), m.words('lamp', ['off', 'on'])];
    const by = m.choice('by', 2);
    m.command('count', { choose: [by], set: [count.to(count.plus(by)), lamp.to('on')] });
    await expect(explore(m.build())).rejects.toThrow(
      'command count sets count to 3, outside 0 … 2, with by = 1, in the state count=2 lamp=on',
    );
  });

  test('an index outside its table', async () => {
    const m = new ModelBuilder('reader');
    const count = m.variable('count', 4);
    const table = m.table('table', [3], [1, 1, 1]);
    m.command('count', { guard: table.at(count), set: [count.to(count.plus(1))] });
    await expect(explore(m.build())).rejects.toThrow(
      'command count reads table table at 3, outside 0 … 2, in the state count=3',
    );
  });

  test('but not what a guard rules out, whichever part stands first', async () => {
    const m = new ModelBuilder('reader');
    const count = m.variable('count', 4);
    const table = m.table('table', [3], [1, 1, 1]);
    const reads = table.at(count.plus(0)).eq(1);
    m.command('count', { guard: reads.and(count.lt(3)), set: [count.to(count.plus(1))] });
    expect((await explore(m.build())).states).toBe(4);
  });

  test('an unknown word for a value', () => {
    const m = new ModelBuilder('lamp');
    const lamp = m.words('lamp', ['off', 'on']);
    expect(() => lamp.is('dim' as 'on')).toThrow('variable lamp has no value named dim');
  });
});
