// A simulation in words: what its replay says, and what was moved how fast.
import type { FileResult } from '../rules/result.ts';
import type { Scenario } from '../simulate/scenario.ts';
import { count, energy, figure, seconds } from './figures.ts';
import { fields, type Look } from './look.ts';
import { plain } from './plain.ts';
import { verdictSentence } from './text-verdict.ts';

export interface SimulateReport {
  readonly file: string;
  readonly scenario: Scenario;
  readonly simulated_s: number;
  readonly took_s: number;
  readonly energy_Wh: number;
  readonly stateOfCharge_percent: number;
  readonly observations: number;
  /** Where the trace was written; null when it was not. */
  readonly out: string | null;
  /** Why the replay is not what the scenario expects; null when it is, undefined when it expects nothing. */
  readonly unexpected: string | null | undefined;
  readonly result: FileResult;
}

export function simulateText(report: SimulateReport, look: Look, quiet: boolean): string {
  const { result, scenario } = report;
  const { verdict } = result;
  const lines = verdictSentence({ schemaVersion: 1, verdict, files: [result] }, look);
  if (!quiet) {
    const rows: [string, string][] = [
      ['scenario', scenario.says ?? (report.file === '-' ? 'standard input' : report.file)],
      ['sides', `${scenario.vehicle.name} at ${scenario.charger.name}, ${scenario.protocol}`],
      ['seed', `${scenario.seed}`],
      ['time', timeWords(report)],
      ['energy', energyWords(report)],
      ['trace', traceWords(report)],
    ];
    if (report.unexpected !== undefined) {
      rows.push([
        'expected',
        report.unexpected === null ? 'as the scenario says' : report.unexpected,
      ]);
    }
    lines.push('', ...fields(look, rows, 2));
  } else if (typeof report.unexpected === 'string') lines.push(`expected ${report.unexpected}`);
  return lines.map((line) => `${plain(line)}\n`).join('');
}

function timeWords({ simulated_s, took_s }: SimulateReport): string {
  const times = Math.round(simulated_s / Math.max(took_s, 0.001));
  return `${seconds(simulated_s)} simulated in ${figure(took_s)} s, ${times} times as fast`;
}

function energyWords({ energy_Wh, scenario, stateOfCharge_percent }: SimulateReport): string {
  const from = figure(scenario.vehicle.pack.stateOfCharge_percent);
  return `${energy(energy_Wh)}, state of charge ${from} % → ${figure(stateOfCharge_percent)} %`;
}

function traceWords({ observations, out }: SimulateReport): string {
  const size = count(observations, 'observation');
  return out === null ? `${size}, not written (--out)` : `${out}, ${size}`;
}
