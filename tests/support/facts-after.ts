// The facts of a session after observations made by hand, read as a replay would read them.
import { Extractor } from '../../src/facts/extract.ts';
import { readObserved, type CellLimits } from '../../src/facts/observed.ts';
import { protocols, timeout_ns } from '../../src/protocols/index.ts';
import { readMessage } from '../../src/protocols/system-c/reading.ts';
import type { Observation } from '../../src/trace/observation.ts';
import type { Dialogue } from './dialogue.ts';

export interface FactsOptions {
  whole?: boolean;
  cells?: CellLimits | null;
}

export function extractorAfter(
  given: Dialogue,
  { whole = true, cells = null }: FactsOptions = {},
): Extractor {
  const protocol = protocols[given.protocol];
  const extractor = new Extractor({
    whole,
    crashDeadline_ns: 100e6,
    timeout_ns: (request) => timeout_ns(protocol, request),
    cells,
    welded: false,
  });
  for (const one of given.observations) extractor.step(readingOf(one, given));
  return extractor;
}

function readingOf(one: Observation, { protocol }: Dialogue) {
  if (one.kind === 'message') return readMessage(one, protocols[protocol].dialect);
  const reading = readObserved(one);
  if (one.kind !== 'link') return reading;
  if (one.state === 'closed' || one.state === 'reset')
    return { ...reading, link: 'closed' as const };
  return one.state === 'gap' ? { ...reading, link: 'gap' as const } : reading;
}
