// `prove --html` and `fuzz --html`: what a search found, every way to a breach replayed, so that the report shows where
// both sides may be after each message and what they could send next.
import type { ReplayOptions } from '../replay/replay.ts';
import type { ReportFile, ReportInput } from '../report/report-data.ts';
import { replayForReport } from '../report/timeline/replay-for-report.ts';
import type { Observation, OpenTrace, TraceHeader } from '../trace/observation.ts';
import { CRASH_DEADLINE_ms } from './replay-options.ts';
import { writeReport } from './write-report.ts';

/** How a rule breaks, as recorders would have seen it. */
export interface FoundWay {
  rule: string;
  header: TraceHeader;
  observations: readonly Observation[];
}

/** Replays with these machines. Throws a UsageError when the file cannot be written. */
export async function writeFoundReport(
  path: string,
  ways: readonly FoundWay[],
  machines: ReplayOptions['machines'],
  about: Omit<ReportInput, 'files'>,
): Promise<void> {
  const replay = { machines, strict: false, crashDeadline_ms: CRASH_DEADLINE_ms };
  const files: ReportFile[] = [];
  for (const way of ways) {
    files.push(await replayForReport(traceOf(way), `how ${way.rule} breaks`, replay));
  }
  await writeReport(path, { ...about, files });
}

function traceOf({ header, observations }: FoundWay): OpenTrace {
  async function* batch(): AsyncGenerator<Observation[]> {
    yield [...observations];
  }
  return { header, observations: batch() };
}
