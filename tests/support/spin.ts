// A model under SPIN (Holzmann, "The SPIN Model Checker", 2003; the Debian package): written out, compiled, searched.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface SpinOptions {
  /** The number of the invariant to be asserted; without it none is. */
  invariant?: number | 'ALL';
  /** Runs end after so many steps. */
  steps?: number;
  /** Without looking for deadlocks. */
  mayEndAnywhere?: boolean;
  /** Of the C compiler; `-O0` compiles large models in a bearable time. */
  optimise?: '-O0' | '-O1' | '-O2';
}

export interface SpinFound {
  states: number;
  transitions: number;
  errors: number;
  /** Of the states alone, without hash table and stack. */
  bytesPerState: number;
  /** Of the search alone, and with spin and gcc before it. */
  search_s: number;
  all_s: number;
}

/** What pan prints of a complete search of this Promela. */
export function spin(promela: string, options: SpinOptions = {}): SpinFound {
  const folder = mkdtempSync(join(tmpdir(), 'handfast-spin-'));
  try {
    const started = performance.now();
    writeFileSync(join(folder, 'model.pml'), promela);
    const { invariant, steps, optimise = '-O1' } = options;
    const defined = [
      ...(invariant === undefined ? [] : [`-DINVARIANT=${invariant}`]),
      ...(steps === undefined ? [] : [`-DSTEPS=${steps}`]),
    ];
    run(folder, 'spin', ['-a', ...defined, 'model.pml']);
    run(folder, 'gcc', [optimise, '-w', '-DSAFETY', '-DNOREDUCE', '-o', 'pan', 'pan.c']);
    const searching = performance.now();
    const end = options.mayEndAnywhere === true ? ['-E'] : [];
    const text = run(folder, join(folder, 'pan'), ['-c0', '-m8000000', '-w22', ...end]);
    const ended = performance.now();
    return {
      ...figuresOf(text),
      search_s: (ended - searching) / 1000,
      all_s: (ended - started) / 1000,
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

function figuresOf(text: string): Omit<SpinFound, 'search_s' | 'all_s'> {
  const figure = (pattern: RegExp): number => Number(pattern.exec(text)?.[1] ?? Number.NaN);
  const states = figure(/([\d.e+]+) states, stored/);
  return {
    states,
    transitions: figure(/([\d.e+]+) transitions/),
    errors: figure(/errors: (\d+)/),
    bytesPerState: (figure(/([\d.]+)\tactual memory usage for states/) * 2 ** 20) / states,
  };
}

function run(folder: string, tool: string, given: string[]): string {
  const { status, stdout, stderr } = spawnSync(tool, given, { cwd: folder, encoding: 'utf8' });
  if (status !== 0) throw new Error(`${tool} ended with ${status}: ${stdout}${stderr}`);
  return stdout;
}
