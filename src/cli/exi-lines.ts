// `decode --hex` and `encode`: one message a line in, one line out, for every line that is not blank.
import type { JsonObject } from '../trace/observation.ts';
import { InputError } from '../trace/input-error.ts';
import { decodeExi, encodeExi, type ExiSchema } from '../wire/exi/codec.ts';
import { EXIT } from './exit.ts';
import type { Io } from './io.ts';
import { lines, type Line } from './text-lines.ts';
import { until } from './until.ts';

/** A message of the largest size the codec takes, in hex with a space after each byte. */
const LONGEST_LINE = 4 * 1024 * 1024;

export function decodeLines(schema: ExiSchema, io: Io): Promise<number> {
  return translate(io, (line) => JSON.stringify(decodeExi(schema, bytesOf(line))));
}

export function encodeLines(schema: ExiSchema, io: Io): Promise<number> {
  return translate(io, (line) => Buffer.from(encodeExi(schema, messageOf(line))).toString('hex'));
}

/** Exit 4 when any line could not be read; its output line is `{"error": …}`. */
async function translate(io: Io, one: (line: string) => string): Promise<number> {
  let number = 0;
  let failed = false;
  const told = (line: Line): string => {
    number += 1;
    if (line !== null && line.trim() === '') return '';
    try {
      if (line === null) {
        throw new InputError(
          `longer than ${LONGEST_LINE} characters`,
          {},
          'give one message a line',
        );
      }
      return `${one(line)}\n`;
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      failed = true;
      return `${JSON.stringify({ error: error.at({ line: number }).message })}\n`;
    }
  };
  for await (const batch of lines(until(io.interrupted, io.stdin), LONGEST_LINE)) {
    await io.stdout.write(batch.map(told).join(''));
    if (io.stdout.closed) break;
  }
  if (io.interrupted.aborted) return EXIT.interrupted;
  return failed ? EXIT.unreadable : EXIT.holds;
}

function bytesOf(line: string): Uint8Array {
  const hex = line.replace(/\s+/g, '').replace(/^0x/i, '');
  const bad = /[^0-9a-f]/i.exec(hex);
  const mend = 'give the bytes of one message as hexadecimal digits, two a byte';
  if (bad !== null) {
    const byte = Math.floor(bad.index / 2);
    throw new InputError(`${JSON.stringify(bad[0])} is no hexadecimal digit`, { byte }, mend);
  }
  if (hex.length % 2 !== 0) throw new InputError('half a byte at the end', {}, mend);
  if (hex.length === 0) throw new InputError('no bytes', {}, mend);
  return Buffer.from(hex, 'hex');
}

function messageOf(line: string): JsonObject {
  const mend = 'give one message a line, as `decode` prints it';
  let value: unknown;
  try {
    value = JSON.parse(line);
  } catch {
    throw new InputError('not JSON', {}, mend);
  }
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw new InputError('not a JSON object', {}, mend);
  }
  return value as JsonObject;
}
