// Machines somebody else wrote, from a folder outside the repository.
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { loadMachine } from '../../src/machine/load.ts';
import { writeTable } from '../../src/machine/table-write.ts';
import { compileTable } from '../../src/machine/table.ts';
import { InputError } from '../../src/trace/input-error.ts';
import { play } from '../machines/play.ts';
import { handMade } from './data/hand-made.ts';

const folder = mkdtempSync(join(tmpdir(), 'handfast-load-'));
afterAll(() => rmSync(folder, { recursive: true }));

let written = 0;

/** Every file in a folder of its own name, since a module is loaded once. */
function file(ending: string, text: string): string {
  const path = join(folder, `m${(written += 1)}${ending}`);
  writeFileSync(path, text);
  return path;
}

const example = readFileSync(join(import.meta.dirname, 'data/small-vehicle.ts'), 'utf8');

const session = [
  'choose.next',
  'supportedAppProtocolRes code=ok',
  'choose.next',
  'CableCheckRes code=ok, processing=finished, isolation=valid',
  'choose.next',
  'PreChargeRes code=ok',
  'choose.power gate=inside',
  'PowerDeliveryRes code=ok',
];

describe('loadMachine', () => {
  it('takes TypeScript that imports handfast, from outside this repository', async () => {
    const vehicle = await loadMachine(file('.ts', example), 'vehicle');
    expect(play(vehicle, session).view.stage).toBe('energy transfer');
    expect(compileTable(vehicle).states).toHaveLength(11);
  });

  it('takes a table, and one written from a module does the same', async () => {
    const vehicle = await loadMachine(file('.ts', example));
    const table = await loadMachine(
      file('.json', JSON.stringify(writeTable(compileTable(vehicle)))),
    );
    expect(play(table, session)).toMatchObject({
      messages: play(vehicle, session).messages,
      drives: play(vehicle, session).drives,
    });
    expect((await loadMachine(file('.json', JSON.stringify(handMade())))).machine.id).toBe(
      'hand made',
    );
  });

  const made = `createSideMachine({
    id: 'm', side: 'charger', protocol: 'din70121', delays: {}, alphabet: { GO: {} },
    chart: { initial: 'a', states: { a: { on: { GO: 'a' } } } },
  })`;
  const esm = `import { createSideMachine } from 'handfast';\n`;

  it.each([
    ['a default export', '.mts', `${esm}export default ${made};`],
    ['JavaScript modules', '.mjs', `${esm}export const charger = ${made};`],
    [
      'JavaScript of Node’s older kind',
      '.cjs',
      `const { createSideMachine } = require('handfast'); module.exports = ${made};`,
    ],
    [
      'a machine made with XState alone',
      '.ts',
      `import { createMachine } from 'xstate';
       const machine = createMachine({ id: 'm', initial: 'a', states: { a: { on: { GO: 'a' } } } });
       export const charger = { side: 'charger', protocol: 'din70121', machine, alphabet: { GO: {} }, delays: {} };`,
    ],
  ])('takes %s', async (_, ending, text) => {
    expect((await loadMachine(file(ending, text), 'charger')).machine.id).toBe('m');
  });

  it('takes the side asked for from a file with both', async () => {
    const both = `${esm}export const charger = ${made}; export const vehicle = ${made.replace('charger', 'vehicle')};`;
    const path = file('.ts', both);
    expect((await loadMachine(path, 'vehicle')).side).toBe('vehicle');
    await expect(loadMachine(path)).rejects.toThrow(
      'exports both a vehicle and a charger (say which)',
    );
  });

  it('follows an import to a file beside it, and names the file that fails', async () => {
    const helper = file('.ts', `export const width: number = 1;\nnull!.boom;\n`);
    const name = helper.split('/').at(-1);
    const path = file('.ts', `import { width } from './${name}';\nexport default width;`);
    await expect(loadMachine(path)).rejects.toThrow(`${helper}, line 2: fails while it is loaded`);
  });

  const chart = (states: string): string => `${esm}export const charger = createSideMachine({
    id: 'm', side: 'charger', protocol: 'din70121', delays: {}, alphabet: { GO: {} },
    chart: { initial: 'a', states: ${states} },
  });`;

  it.each<[string, string, string, RegExp]>([
    [
      'what does not compile',
      '.ts',
      `${esm}\nexport const y: number = = 3;`,
      /m\d+\.ts, line 3: Unexpected token \(the file does not compile\)$/,
    ],
    [
      'what throws',
      '.ts',
      `const t: { a: string } | undefined = undefined;\nexport const y = t!.a;`,
      /line 2: fails while it is loaded: Cannot read properties of undefined/,
    ],
    [
      'what handfast does not have',
      '.ts',
      `import { nope } from 'handfast';\n\nexport default nope({});`,
      /line 3: fails while it is loaded: nope is not a function/,
    ],
    [
      'a lost import',
      '.ts',
      `import x from './nowhere.ts';\nexport default x;`,
      /m\d+\.ts, line 1: fails while it is loaded: Cannot find module '\.\/nowhere\.ts'/,
    ],
    [
      'a chart that breaks the convention',
      '.ts',
      chart(`{\n a: { on: { STOP: 'a' } } }`),
      /m\d+\.ts, line 2: machine m: state m\.a listens for STOP, which is not in the alphabet \(list each event/,
    ],
    [
      'a file without a machine',
      '.ts',
      'export const other = 1;',
      /exports no machine \(export one as `vehicle`/,
    ],
    [
      'something else',
      '.ts',
      'export default 7;',
      /exports "7" where a machine should be \(make it with createSideMachine/,
    ],
    [
      'an XState machine alone',
      '.ts',
      `import { createMachine } from 'xstate';\nexport default createMachine({});`,
      /exports an XState machine alone \(export \{ side, protocol/,
    ],
    [
      'another side',
      '.ts',
      `export default { side: 'grid' };`,
      /side is "grid" \(it must be "vehicle" or "charger"\)/,
    ],
    [
      'another protocol',
      '.ts',
      `export default { side: 'vehicle', protocol: 'x' };`,
      /protocol is "x" \(use one of din70121, iso15118-2\)/,
    ],
    [
      'no alphabet',
      '.ts',
      `import { createMachine } from 'xstate';\nexport default { side: 'vehicle', protocol: 'din70121', machine: createMachine({}) };`,
      /alphabet is missing \(list each event/,
    ],
    ['broken JSON', '.json', '{\n"handfast": "machine",\n}', /m\d+\.json, line 3: is not JSON/],
    [
      'a table with a fault',
      '.json',
      '{"handfast":"machine"}',
      /m\d+\.json: \/: version is missing/,
    ],
    [
      'another kind of file',
      '.py',
      '',
      /a machine cannot be read from \.py \(give a module \(\.ts/,
    ],
  ])('refuses %s', async (_, ending, text, message) => {
    const loading = loadMachine(file(ending, text));
    await expect(loading).rejects.toThrow(message);
    await expect(loading).rejects.toBeInstanceOf(InputError);
  });

  it('tells every problem of a machine made with XState alone', async () => {
    const path = file(
      '.ts',
      `import { createMachine } from 'xstate';
       const machine = createMachine({ id: 'm', initial: 'a', states: { a: { entry: 'beep', after: { 500: 'a' } } } });
       export default { side: 'charger', protocol: 'din70121', machine, alphabet: {}, delays: {} };`,
    );
    await expect(loadMachine(path)).rejects.toThrow(
      /machine m: state m\.a waits for an inline delay \(name the delay .*\); state m\.a has the action beep \(outputs are/,
    );
  });

  it('refuses a machine of the other side, and a path that is none', async () => {
    await expect(loadMachine(file('.ts', example), 'charger')).rejects.toThrow(
      'this machine is a vehicle, not a charger (give it as --vehicle',
    );
    await expect(loadMachine(join(folder, 'none.ts'))).rejects.toThrow('there is no such file');
    await expect(loadMachine(`${folder}/../x.json`)).rejects.toThrow(InputError);
  });
});
