// One verdict for a project: recordings replayed, machines proved, sessions at random, all of it against the baseline.
import { isAbsolute, relative, resolve, sep } from 'node:path';
import type { SideMachine } from '../machine/convention.ts';
import { protocols } from '../protocols/index.ts';
import { proofChecks, type MachineFiles } from '../report/checks-prove.ts';
import type { Check } from '../report/checks.ts';
import { count } from '../report/figures.ts';
import type { FileResult } from '../rules/result.ts';
import { prove } from '../search/prove/prove.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import type { Side } from '../trace/observation.ts';
import { withAccepted } from './accepted.ts';
import { proofRecord, traceRecord, type Baseline } from './baseline.ts';
import { driftBetween, type Drift } from './drift.ts';
import { driftChecks } from './drift-checks.ts';
import {
  DEFAULTS,
  type Project,
  type ProjectFuzz,
  type ProjectMachines,
  type ProjectTraces,
} from './project.ts';

type SessionProtocol = ProjectMachines['protocol'];

export interface FuzzTask {
  readonly suite: string;
  readonly protocol: SessionProtocol;
  /** Bundled machines have none. */
  readonly files: MachineFiles;
  readonly budget: ProjectFuzz;
  readonly seed: number;
  readonly signal?: AbortSignal;
}

/** What a gate needs of the world: only the command line names the bundled machines. */
export interface GateTools {
  bundled(protocol: SessionProtocol): Promise<Record<Side, SideMachine>>;
  load(path: string, side: Side): Promise<SideMachine>;
  /** Recordings at a path, each with why it cannot be read, if so. */
  recordings(path: string): Promise<readonly { path: string; reason?: string }[]>;
  /** One recording; what cannot be read is told in the result. */
  replay(path: string, crashDeadline_ms: number): Promise<FileResult>;
  /** Sessions at random: one check of what they came to. */
  fuzz(task: FuzzTask): Promise<Check>;
}

export interface GateOptions {
  readonly project: Project;
  /** The project file's folder. */
  readonly folder: string;
  readonly baseline: Baseline | null;
  /** The baseline is about to be written anew: what drifted is told, and does not fail. */
  readonly update: boolean;
  /** A date in UTC, `2026-11-25`. */
  readonly today: string;
  readonly commit: string | null;
  readonly tools: GateTools;
  readonly signal?: AbortSignal;
  readonly onStep?: (says: string) => void;
}

export interface GateResult {
  readonly schemaVersion: 1;
  readonly verdict: 'passed' | 'failed' | 'unreadable' | 'undecided';
  readonly project: string;
  readonly commit: string | null;
  /** `none`: nothing could be compared. */
  readonly baseline: 'compared' | 'none';
  readonly checks: readonly Check[];
  /** What is different from the baseline. */
  readonly drift: readonly Drift[];
  /** What else is worth knowing. */
  readonly notes: readonly string[];
}

/** Throws an InputError where a machine cannot be used. */
export async function runGate(
  options: GateOptions,
): Promise<{ result: GateResult; record: Baseline }> {
  const { project, folder, baseline, update, today, commit } = options;
  const record: Baseline = { handfast: 'baseline', version: 1, proofs: {}, traces: {} };
  const checks: Check[] = [];
  for (const traces of project.traces ?? []) {
    checks.push(...(await replayChecks(traces, options, record)));
  }
  for (const machines of project.machines ?? []) {
    checks.push(...(await machineChecks(machines, options, record)));
  }
  const drift =
    baseline === null
      ? []
      : driftBetween(baseline, record, project.marginShrink ?? DEFAULTS.marginShrink);
  const against = update ? record : baseline;
  const compared = driftChecks(checks, update ? [] : drift, against, folder);
  const { checks: judged, idle } = withAccepted(compared, project.accepted ?? [], today);
  return {
    result: {
      schemaVersion: 1,
      verdict: verdictOf(judged),
      project: project.name,
      commit,
      baseline: baseline === null ? 'none' : 'compared',
      checks: judged,
      drift,
      notes: idle,
    },
    record,
  };
}

function verdictOf(checks: readonly Check[]): GateResult['verdict'] {
  const has = (outcome: Check['outcome'], unreadable: boolean): boolean =>
    checks.some((one) => one.outcome === outcome && (one.name === 'readable') === unreadable);
  if (has('failed', false)) return 'failed';
  if (has('failed', true)) return 'unreadable';
  return has('undecided', false) ? 'undecided' : 'passed';
}

async function replayChecks(
  { path, verdict: expected }: ProjectTraces,
  { folder, tools, project, baseline, onStep }: GateOptions,
  record: Baseline,
): Promise<Check[]> {
  onStep?.(`replays ${path}`);
  const found = await tools.recordings(resolve(folder, path));
  const checks: Check[] = [];
  for (const { path: file, reason } of found) {
    const suite = named(file, folder);
    if (reason !== undefined) {
      checks.push(failed(suite, 'readable', reason, file));
      continue;
    }
    const result = await tools.replay(file, project.crashDeadline_ms ?? DEFAULTS.crashDeadline_ms);
    record.traces[suite] = traceRecord(result);
    checks.push(replayCheck(suite, result, expected, baseline?.traces[suite]?.verdict));
  }
  return checks;
}

function replayCheck(
  suite: string,
  { verdict, reasons, file }: FileResult,
  expected: string | undefined,
  before: string | undefined,
): Check {
  const is = `replays as ${verdict}`;
  const why = reasons.length === 0 ? '' : ` (${reasons.join('; ')})`;
  if (verdict === 'unreadable' && (expected ?? before) !== 'unreadable') {
    return failed(suite, 'readable', `${is}${why}`, file);
  }
  if (expected !== undefined && expected !== verdict) {
    return failed(suite, 'replay', `${is}, the project says ${expected}${why}`, file);
  }
  return { suite, name: 'replay', outcome: 'passed', says: is, problems: [] };
}

function failed(suite: string, name: string, says: string, file: string | null): Check {
  const problem = { rule: name, level: 'error' as const, says, file, where: '' };
  const problems = [{ ...problem, identity: [suite, name], steps: [] }];
  return { suite, name, outcome: 'failed', says, problems };
}

/** The path from the project file's folder, with forward slashes: the same on every machine. */
function named(path: string, folder: string): string {
  return (isAbsolute(path) ? relative(folder, path) : path).split(sep).join('/');
}

async function machineChecks(
  machines: ProjectMachines,
  options: GateOptions,
  record: Baseline,
): Promise<Check[]> {
  const { protocol, faults = 0 } = machines;
  const suite = suiteOf(machines);
  options.onStep?.(suite);
  const { vehicle, charger, files } = await sidesOf(machines, options);
  const result = await proveOne(vehicle, charger, { protocol, faults }, options);
  record.proofs[suite] = proofRecord(result);
  const proved = proofChecks(suite, result, files);
  const { fuzz } = options.project;
  if (fuzz === undefined) return proved;
  const task = { suite, protocol, files, budget: fuzz };
  return [...proved, await fuzzCheck(task, options)];
}

function suiteOf({ protocol, vehicle, charger, faults = 0 }: ProjectMachines): string {
  const own = [vehicle, charger].filter((one) => one !== undefined);
  const whose = own.length === 0 ? '' : ` ${own.join(' and ')},`;
  return `proof of ${protocol},${whose} at most ${count(faults, 'fault')}`;
}

async function sidesOf(
  { protocol, ...own }: ProjectMachines,
  { folder, tools }: GateOptions,
): Promise<{ vehicle: SideMachine; charger: SideMachine; files: MachineFiles }> {
  const files: MachineFiles = {};
  const one = async (side: Side): Promise<SideMachine> => {
    const path = own[side];
    if (path === undefined) return (await tools.bundled(protocol))[side];
    files[side] = resolve(folder, path);
    return tools.load(files[side], side);
  };
  return { vehicle: await one('vehicle'), charger: await one('charger'), files };
}

function proveOne(
  vehicle: SideMachine,
  charger: SideMachine,
  { protocol, faults }: { protocol: SessionProtocol; faults: number },
  { project, signal }: GateOptions,
): Promise<ProveResult> {
  const limits = { ...DEFAULTS.limits, ...project.limits };
  return prove({
    vehicle,
    charger,
    protocol: protocols[protocol],
    faults,
    limits: {
      states: limits.states,
      memory_bytes: limits.memory_MB * 2 ** 20,
      time_s: limits.time_s,
    },
    ...(signal === undefined ? {} : { signal }),
  });
}

/** As many seeds as `handfast fuzz --seed` takes. */
const SEEDS = 1_000_000_000;

/** From the first 32 bits of the commit's hash; without one, always the same. */
function seedOf(commit: string | null): number {
  return commit === null ? 1 : Number.parseInt(commit.slice(0, 8), 16) % SEEDS;
}

function fuzzCheck(
  task: Omit<FuzzTask, 'seed' | 'signal'>,
  { tools, commit, signal, onStep }: GateOptions,
): Promise<Check> {
  const seed = seedOf(commit);
  onStep?.(`random sessions, seed ${seed}`);
  return tools.fuzz({ ...task, seed, ...(signal === undefined ? {} : { signal }) });
}
