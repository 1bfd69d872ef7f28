// A trace replayed, with the timelines that a report shows of it.
import { replayTrace, type ReplayOptions } from '../../replay/replay.ts';
import type { OpenTrace } from '../../trace/observation.ts';
import type { ReportFile } from '../report-data.ts';
import { TimelineRecorder } from './record.ts';
import type { Timeline } from './timeline.ts';

/** As replayTrace. Throws InputError when the trace cannot be read on. */
export async function replayForReport(
  trace: OpenTrace,
  name: string,
  options: Omit<ReplayOptions, 'watcher' | 'onSession'>,
): Promise<ReportFile> {
  const recorder = new TimelineRecorder();
  const timelines: Timeline[] = [];
  const result = await replayTrace(trace, name, {
    ...options,
    watcher: recorder,
    onSession: (session) => timelines.push(recorder.take(session)),
  });
  return { result, timelines };
}
