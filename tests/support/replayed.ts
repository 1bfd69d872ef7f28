// A counterexample through its file form: written as a trace, read, and judged as any recording.
import { replayTrace } from '../../src/replay/replay.ts';
import type { Recording } from '../../src/search/prove/recording.ts';
import { openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';
import { machines } from './machines.ts';

/** Rules of which the replay tells a breach. */
export async function rulesBroken({ header, observations }: Recording): Promise<string[]> {
  const lines = [headerLine(header), ...observations.map(observationLine)];
  const trace = await openTrace(bytes(lines.join('\n')), 'counterexample.jsonl');
  const options = { machines, strict: false, crashDeadline_ms: 100 };
  const { sessions } = await replayTrace(trace, 'counterexample.jsonl', options);
  const findings = sessions.flatMap((session) => session.findings);
  return findings.filter(({ status }) => status === 'breach').map(({ rule }) => rule);
}

async function* bytes(text: string): AsyncGenerator<Uint8Array, void, void> {
  yield Buffer.from(text);
}
