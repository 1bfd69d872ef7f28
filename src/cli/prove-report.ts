// `handfast prove --html`: the proof, and every counterexample replayed with the machines that were proved, so that the
// report shows where both sides may be after each message and what they could send next.
import type { SidePair } from '../replay/conformance.ts';
import { replayForReport } from '../report/timeline/replay-for-report.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import type { Recording } from '../search/prove/recording.ts';
import type { OpenTrace } from '../trace/observation.ts';
import { CRASH_DEADLINE_ms } from './replay-options.ts';
import { writeReport } from './write-report.ts';

/** How a rule breaks, as recorders would have seen it. */
export interface ProofRecording {
  rule: string;
  recording: Recording;
}

interface Proof {
  result: ProveResult;
  machines: SidePair;
  recordings: ProofRecording[];
  again: string;
}

/** Throws a UsageError when the file cannot be written. */
export async function writeProofReport(
  path: string,
  { result, machines, recordings, again }: Proof,
): Promise<void> {
  const replay = {
    machines: { din70121: machines, 'iso15118-2': machines },
    strict: false,
    crashDeadline_ms: CRASH_DEADLINE_ms,
  };
  const files = [];
  for (const { rule, recording } of recordings) {
    files.push(await replayForReport(traceOf(recording), `how ${rule} breaks`, replay));
  }
  await writeReport(path, { title: `proof of ${result.protocol}`, files, proof: result, again });
}

function traceOf({ header, observations }: Recording): OpenTrace {
  async function* batch(): AsyncGenerator<Recording['observations'][number][]> {
    yield [...observations];
  }
  return { header, observations: batch() };
}
