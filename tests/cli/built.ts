// The program as it ships, for tests of the process itself: every source translated, types unchecked, into a folder
// of its own, so that no test waits for or disturbs the real build.
import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import ts from 'typescript';

const ROOT = join(import.meta.dirname, '../..');

/** Translates src and machines; gives the path of the program and a way to remove it. */
export function builtProgram(): { main: string; remove: () => void } {
  // Inside node_modules, so that the packages are found from there.
  const folder = join(ROOT, 'node_modules/.cache/handfast', String(process.pid));
  for (const part of ['src', 'machines']) {
    for (const name of readdirSync(join(ROOT, part), { recursive: true, encoding: 'utf8' })) {
      if (/\.(ts|json)$/.test(name)) translate(join(part, name), folder);
    }
  }
  writeFileSync(join(folder, 'package.json'), '{"type":"module"}');
  return {
    main: join(folder, 'src/cli/main.js'),
    remove: () => rmSync(folder, { recursive: true, force: true }),
  };
}

function translate(path: string, folder: string): void {
  const text = readFileSync(join(ROOT, path), 'utf8');
  const target = join(folder, path.replace(/\.ts$/, '.js'));
  mkdirSync(dirname(target), { recursive: true });
  if (!path.endsWith('.ts')) {
    writeFileSync(target, text);
    return;
  }
  const { outputText } = ts.transpileModule(text, {
    fileName: path,
    compilerOptions: {
      target: ts.ScriptTarget.ES2023,
      module: ts.ModuleKind.ESNext,
      verbatimModuleSyntax: true,
      rewriteRelativeImportExtensions: true,
    },
  });
  writeFileSync(target, outputText);
}
