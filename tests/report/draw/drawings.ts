// Machines and sessions that the tests of drawings share.
import { XMLParser, XMLValidator } from 'fast-xml-parser';
import { expect } from 'vitest';
import { machinesOf } from '../../../src/cli/bundled-engine.ts';
import type { SideMachine } from '../../../src/machine/convention.ts';
import { loadMachine } from '../../../src/machine/load.ts';
import { openFile } from '../../../src/replay/open.ts';
import { replayTrace } from '../../../src/replay/replay.ts';
import type { Watcher } from '../../../src/replay/watch.ts';
import { SequenceRecorder } from '../../../src/report/draw/sequence-steps.ts';
import type { SequenceInput } from '../../../src/report/draw/sequence.ts';
import type { FileResult } from '../../../src/rules/result.ts';

export const small = (): Promise<SideMachine> => loadMachine('tests/machine/data/small-vehicle.ts');

export async function bundled(): Promise<[name: string, machine: SideMachine][]> {
  const found: [string, SideMachine][] = [];
  for (const protocol of ['din70121', 'iso15118-2'] as const) {
    const { vehicle, charger } = await machinesOf(protocol);
    found.push([`${protocol} vehicle`, vehicle], [`${protocol} charger`, charger]);
  }
  return found;
}

export async function replayed(path: string, watcher: Watcher): Promise<FileResult> {
  const trace = await openFile(path, []);
  return replayTrace(trace, path, {
    machines: machinesOf,
    strict: false,
    crashDeadline_ms: 100,
    watcher,
  });
}

export async function sequenceOf(path: string): Promise<SequenceInput> {
  const recorder = new SequenceRecorder();
  const { sessions } = await replayed(path, recorder);
  const session = sessions[0]!;
  return { file: path, session, recorded: recorder.sessions.get(session.id)! };
}

/** All text of an SVG, in order; fails when it is no well-formed XML. */
export function textOf(svg: string): string {
  expect(XMLValidator.validate(svg)).toBe(true);
  const words: string[] = [];
  const collect = (value: unknown): void => {
    if (typeof value === 'string') words.push(value);
    else if (typeof value === 'object' && value !== null) Object.values(value).forEach(collect);
  };
  const options = { ignoreAttributes: false, preserveOrder: true, parseTagValue: false };
  collect(new XMLParser(options).parse(svg));
  return words.join('\n');
}

export const HOSTILE = '</text><script>harm=1</script> ]]> & "\' \u202e\u0000 %%{init}%% end;#\n';
