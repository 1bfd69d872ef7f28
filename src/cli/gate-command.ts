// `handfast gate`: may this go on?
import { execFile } from 'node:child_process';
import { readFile } from 'node:fs/promises';
import { dirname, relative, resolve } from 'node:path';
import { promisify } from 'node:util';
import { readBaseline, type Baseline } from '../gate/baseline.ts';
import { gateChecked, gateText } from '../gate/gate-text.ts';
import { runGate, type GateResult, type GateTools } from '../gate/gate.ts';
import { findProject, readProject } from '../gate/project-file.ts';
import { DEFAULTS, type Project } from '../gate/project.ts';
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { InputError } from '../trace/input-error.ts';
import { bundledEngine, machinesOf } from './bundled-engine.ts';
import { expectCheckFiles, writeCheckFiles, type CheckFiles } from './check-files.ts';
import { ConfigurationError, isSystemError } from './errors.ts';
import { EXIT } from './exit.ts';
import { findCaptures } from './find-captures.ts';
import { remark, wantsColor, widthOf, type CommonOptions, type Io } from './io.ts';
import { replayOne } from './replay-one.ts';
import { shellCommand } from './shell.ts';
import { expectWritable, writeText } from './write-file.ts';

export interface GateCommandOptions extends CommonOptions, CheckFiles {
  project?: string;
  update?: boolean;
}

export async function gateCommand(options: GateCommandOptions, io: Io): Promise<number> {
  await expectCheckFiles(options);
  const { path, project } = await configured(options.project);
  const folder = dirname(resolve(path));
  const baselinePath = resolve(folder, project.baseline ?? DEFAULTS.baseline);
  const update = options.update === true;
  if (update) await expectWritable(baselinePath);
  const { result, record } = await runGate({
    project,
    folder,
    baseline: await baselineAt(baselinePath, update),
    update,
    today: new Date().toISOString().slice(0, 10),
    commit: await commitOf(folder),
    tools: TOOLS,
    signal: io.interrupted,
    onStep: (says) => void remark(io, options, `handfast: ${says}`),
  });
  // Half of a baseline would let the other half through.
  const updated = update && !io.interrupted.aborted ? baselinePath : null;
  if (updated !== null) await writeText(updated, json(record));
  const again = shellCommand([
    'handfast',
    'gate',
    ...(options.project === undefined ? [] : ['--project', options.project]),
  ]);
  await told(result, { again, updated }, options, io);
  await writeCheckFiles(gateChecked(result, again), options);
  return io.interrupted.aborted ? EXIT.interrupted : CODES[result.verdict];
}

const CODES: Record<GateResult['verdict'], number> = {
  passed: EXIT.holds,
  failed: EXIT.broken,
  unreadable: EXIT.unreadable,
  undecided: EXIT.inconclusive,
};

async function told(
  result: GateResult,
  { again, updated }: { again: string; updated: string | null },
  options: GateCommandOptions,
  io: Io,
): Promise<void> {
  if (options.json === true) {
    await io.stdout.write(json(result));
    return;
  }
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const where = updated === null ? null : relative(process.cwd(), updated);
  const quiet = options.quiet ?? false;
  await io.stdout.write(gateText(result, look, { quiet, again, updated: where }));
}

/** Whatever is wrong with the project is told before anything is judged. */
async function configured(named: string | undefined): Promise<{ path: string; project: Project }> {
  try {
    const path = named ?? relative(process.cwd(), findProject(process.cwd()));
    return { path, project: await readProject(path) };
  } catch (error) {
    throw error instanceof InputError ? new ConfigurationError(error.message) : error;
  }
}

/** Null where there is none yet. One that cannot be read is no obstacle to writing it anew. */
async function baselineAt(path: string, update: boolean): Promise<Baseline | null> {
  try {
    return await readBaseline(await readFile(path, 'utf8'), relative(process.cwd(), path));
  } catch (error) {
    if (isSystemError(error) && error.code === 'ENOENT') return null;
    if (!(error instanceof InputError)) throw error;
    if (update) return null;
    throw new ConfigurationError(error.message);
  }
}

/** The hash of the commit that is checked out; null outside a repository, or without git. */
async function commitOf(folder: string): Promise<string | null> {
  const words = ['-C', folder, 'rev-parse', '--verify', '--quiet', 'HEAD'];
  const found = await promisify(execFile)('git', words).catch(() => null);
  return found === null ? null : found.stdout.trim();
}

const TOOLS: GateTools = {
  bundled: machinesOf,
  load: async (path, side) => (await import('../machine/load.ts')).loadMachine(path, side),
  recordings: (path) => findCaptures([path], (bytes) => bundledEngine.isInput(bytes)),
  replay: async (path, crashDeadline_ms) => {
    const settings = { strict: false, with: [], crashDeadline_ms, debug: false, timelines: false };
    const { file, fault } = await replayOne({ path, bytes: 0 }, settings, bundledEngine);
    if (fault !== undefined) throw new Error(fault);
    return { ...file, file: relative(process.cwd(), path) };
  },
  fuzz: async (task) => (await import('./gate-fuzz.ts')).gateFuzz(task),
};
