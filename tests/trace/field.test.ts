// Field captures written as traces and read back: whatever the capture reader can say, the format can hold.
import { createReadStream, readdirSync } from 'node:fs';
import { expect, test } from 'vitest';
import { openTrace } from '../../src/trace/reader.ts';
import { headerLine, observationLine } from '../../src/trace/writer.ts';
import { openCapture } from '../../src/wire/open.ts';
import { allOf, bytesOf } from './support.ts';

const FOLDER = new URL('../../traces/field/', import.meta.url);
const captures = readdirSync(FOLDER).filter((file) => /\.pcap(?:ng)?$/.test(file));

test.each(captures)('%s', async (file) => {
  const capture = await openCapture(createReadStream(new URL(file, FOLDER)), file);
  const seen = await allOf(capture);
  expect(seen.some(({ kind }) => kind === 'message')).toBe(true);
  const text = [headerLine(capture.header), ...seen.map(observationLine)].join('\n');
  const trace = await openTrace(bytesOf(text, 1000), `${file}.jsonl`);
  expect(trace.header).toEqual(capture.header);
  expect(await allOf(trace)).toEqual(seen);
});
