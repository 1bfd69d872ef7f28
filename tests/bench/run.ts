// `npm run bench`: every benchmark one after the other; `npm run bench -- wire replay` only those named. With `--large`
// also the memory that a gigabyte takes.
import { argv } from 'node:process';

const benches: Record<string, () => Promise<{ run: () => Promise<string[]> }>> = {
  exi: () => import('./exi.ts'),
  trace: () => import('./trace.ts'),
  wire: () => import('./wire.ts'),
  follow: () => import('./follow.ts'),
  replay: () => import('./replay.ts'),
  table: () => import('./table.ts'),
  search: () => import('./search.ts'),
  prove: () => import('./prove.ts'),
  physics: () => import('./physics.ts'),
  simulate: () => import('./simulate.ts'),
  page: () => import('./page.ts'),
};

const named = argv.slice(2).filter((word) => !word.startsWith('--'));
const unknown = named.find((name) => !(name in benches));
if (unknown !== undefined) {
  console.error(`no benchmark ${unknown}; there are ${Object.keys(benches).join(', ')}`);
  process.exit(1);
}
for (const name of named.length > 0 ? named : Object.keys(benches)) {
  const { run } = await benches[name]!();
  for (const line of await run()) console.log(line);
}
