// `handfast simulate`: a scenario becomes a trace, and the trace is replayed at once.
import { createReadStream } from 'node:fs';
import { replayTrace } from '../replay/replay.ts';
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { simulateText, type SimulateReport } from '../report/text-simulate.ts';
import { unexpected } from '../simulate/judge.ts';
import { runScenario, traceOf, traceText, type ScenarioRun } from '../simulate/run-scenario.ts';
import { readScenario } from '../simulate/scenario-file.ts';
import type { Scenario } from '../simulate/scenario.ts';
import type { FileResult } from '../rules/result.ts';
import { InputError } from '../trace/input-error.ts';
import { machinesOf } from './bundled-engine.ts';
import { isSystemError, systemReason } from './errors.ts';
import { EXIT, exitOf } from './exit.ts';
import { wantsColor, widthOf, type CommonOptions, type Io } from './io.ts';
import { CRASH_DEADLINE_ms } from './replay-options.ts';
import { expectWritable, writeText } from './write-file.ts';

export interface SimulateOptions extends CommonOptions {
  out?: string;
  seed?: number;
  vehicle?: string;
  charger?: string;
  /** Write an HTML report to this file. */
  html?: string;
}

/** A scenario is a page of text; what is longer is another file. */
const LONGEST_BYTES = 4_000_000;

export async function simulateCommand(
  file: string,
  options: SimulateOptions,
  io: Io,
): Promise<number> {
  for (const path of [options.out, options.html]) {
    if (path !== undefined) await expectWritable(path);
  }
  const read = await readScenario(await textOf(file, io), file);
  const scenario = options.seed === undefined ? read : { ...read, seed: options.seed };
  const started_ms = performance.now();
  const run = await runWith(scenario, options);
  const took_s = (performance.now() - started_ms) / 1000;
  if (options.out !== undefined) await writeText(options.out, traceText(run));
  const result = await judged(run, options.out ?? file, options);
  const report: SimulateReport = {
    file,
    scenario,
    simulated_s: run.ended_ns / 1e9,
    took_s,
    energy_Wh: run.energy_Wh,
    stateOfCharge_percent: run.stateOfCharge_percent,
    observations: run.observations.length,
    out: options.out ?? null,
    unexpected: scenario.expect === undefined ? undefined : unexpected(result, scenario.expect),
    result,
  };
  const look = lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env));
  const text =
    options.json === true
      ? json({ schemaVersion: 1, ...report })
      : simulateText(report, look, options.quiet === true);
  await io.stdout.write(text);
  if (report.unexpected === undefined) return exitOf(result.verdict);
  return report.unexpected === null ? EXIT.holds : EXIT.broken;
}

async function judged(
  run: ScenarioRun,
  name: string,
  { html }: SimulateOptions,
): Promise<FileResult> {
  const replay = { machines: machinesOf, strict: false, crashDeadline_ms: CRASH_DEADLINE_ms };
  if (html === undefined) return replayTrace(traceOf(run), name, replay);
  const { replayForReport } = await import('../report/timeline/replay-for-report.ts');
  const { writeReport } = await import('./write-report.ts');
  const file = await replayForReport(traceOf(run), name, replay);
  await writeReport(html, { files: [file] });
  return file.result;
}

async function runWith(scenario: Scenario, options: SimulateOptions): Promise<ScenarioRun> {
  const bundled = await machinesOf(scenario.protocol);
  const { loadMachine } = await import('../machine/load.ts');
  const load = (side: 'vehicle' | 'charger') => {
    const own = options[side];
    return own === undefined ? bundled[side] : loadMachine(own, side);
  };
  return runScenario(scenario, { vehicle: await load('vehicle'), charger: await load('charger') });
}

async function textOf(file: string, io: Io): Promise<string> {
  const chunks: Uint8Array[] = [];
  let size = 0;
  try {
    for await (const chunk of file === '-' ? io.stdin : createReadStream(file)) {
      chunks.push(chunk as Uint8Array);
      size += (chunk as Uint8Array).length;
      if (size > LONGEST_BYTES) break;
    }
  } catch (error) {
    if (!isSystemError(error)) throw error;
    const mend = 'give a scenario file, YAML or JSON';
    throw new InputError(systemReason(error), { file }, mend);
  }
  return Buffer.concat(chunks).toString('utf8');
}
