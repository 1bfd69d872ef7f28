// Project files that are wrong: file, line or property, and the mend.
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { findProject, readProject } from '../../src/gate/project-file.ts';

const temporary = (): string => mkdtempSync(join(tmpdir(), 'handfast-'));

async function refusal(name: string, text: string): Promise<string> {
  // A module is loaded once by its path: each case has a folder of its own.
  const folder = temporary();
  const path = join(folder, name);
  writeFileSync(path, text);
  const told = await readProject(path).then(
    () => 'taken',
    (error: Error) => error.message,
  );
  return told.replaceAll(`${folder}/`, '');
}

describe('JSON', () => {
  it.each([
    [
      '{\n  "name": "x",\n  "trace": []\n}',
      'p.json, line 3: the project: there is no trace (use one of name, machines, traces, ',
    ],
    [
      '{\n  "name": "x",\n  "traces": [\n    { "path": "a", "verdict": "fine" }\n  ]\n}',
      'p.json, line 4: traces.0.verdict: "fine" is none of its values (use one of holds, broken, inconclusive, unreadable)',
    ],
    ['{\n  "machines": []\n}', 'p.json, line 1: the project: name is missing (add it)'],
    [
      '{\n  "name": "x",\n  "machines": [\n    {\n      "protocol": "din70121",\n      "faults": 3\n    }\n  ]\n}',
      'p.json, line 6: machines.0.faults must be <= 2, it is 3 (Faults a run may have, 0 to 2.)',
    ],
    [
      '{\n  "name": "x",\n  "accepted": [{ "check": "a", "reason": "b",\n    "until": "soon" }]\n}',
      'p.json, line 4: accepted.0.until must match pattern ',
    ],
    ['{\n  "name": "x"\n  "traces": []\n}', 'p.json, line '],
    ['', 'p.json: the project must be object'],
  ])('%j', async (text, told) => {
    expect(await refusal('p.json', text)).toContain(told);
  });
});

describe('TypeScript', () => {
  it.each([
    [
      "import { defineProject } from 'handfast';\nexport default defineProject({ name: 'x', traces: [{ path: 1 }] } as never);",
      'p.ts: traces.0.path must be string, it is 1 (A recording or a folder of them, from the folder of this file.)',
    ],
    [
      'export const project = {};',
      'p.ts: has no project as its default export (write: export default defineProject({ name: … }))',
    ],
    [
      'const one = 1;\nexport default nowhere(one);',
      'fails while it is loaded: nowhere is not defined (mend what stands there)',
    ],
    ['export default {', 'the file does not compile'],
  ])('%j', async (text, told) => {
    expect(await refusal('p.ts', text)).toContain(told);
  });

  it('is taken with its types', async () => {
    const path = join(temporary(), 'good.ts');
    writeFileSync(
      path,
      "import { defineProject, type Project } from 'handfast';\nconst one: Project = { name: 'x' };\nexport default defineProject(one);\n",
    );
    expect(await readProject(path)).toEqual({ name: 'x' });
  });
});

describe('the project of a folder', () => {
  it('is found, and must be one', () => {
    const empty = temporary();
    expect(() => findProject(empty)).toThrow(
      'there is no project file here (write handfast.project.json',
    );
    writeFileSync(join(empty, 'handfast.project.json'), '{}');
    expect(findProject(empty)).toBe(join(empty, 'handfast.project.json'));
    writeFileSync(join(empty, 'handfast.project.ts'), '');
    expect(() => findProject(empty)).toThrow(/handfast\.project\.ts and .*keep one of them/);
  });

  it('is nothing else than a project', async () => {
    expect(await refusal('p.toml', '')).toContain('p.toml: a project cannot be read from .toml');
    await expect(readProject(join(temporary(), 'missing.json'))).rejects.toThrow(
      'missing.json: cannot be read',
    );
  });
});
