// Before the tests: the page of the report, built anew where its sources are younger than what was built.
import { spawnSync } from 'node:child_process';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';

const ROOT = join(import.meta.dirname, '../..');
const BUILT = join(ROOT, 'dist/src/report/page.html');
/** The page takes the words of the text printers and reads messages as the replay does. */
const SOURCES = ['src/report', 'src/protocols', 'src/facts'];

export default function setup(): void {
  const built = age(BUILT);
  if (SOURCES.every((folder) => newest(join(ROOT, folder)) <= built)) return;
  const { status, stderr } = spawnSync('npm', ['run', '--silent', 'page'], {
    cwd: ROOT,
    encoding: 'utf8',
  });
  if (status !== 0) throw new Error(`the page of the report was not built: ${stderr}`);
}

function newest(folder: string): number {
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' });
  return Math.max(...names.map((name) => age(join(folder, name))));
}

/** Zero for what is not there. */
function age(path: string): number {
  return statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? 0;
}
