// `handfast decode`: what a recording holds, as a trace.
import { plain, plainJson } from '../report/plain.ts';
import { InputError } from '../trace/input-error.ts';
import type { Observation } from '../trace/observation.ts';
import { headerLine, observationLine } from '../trace/writer.ts';
import { EXIT } from './exit.ts';
import { remark, type CommonOptions, type Io } from './io.ts';
import { openInput } from './open-input.ts';

/** Problems told one by one; the rest as a number. */
const PROBLEMS_AT_MOST = 20;

/** Output is handed on in pieces of about this many characters. */
const PIECE = 64 * 1024;

const EXACT = 'Message bytes and identifiers are exact: think before you pass this output on.';

export async function decodeCommand(path: string, options: CommonOptions, io: Io): Promise<number> {
  const trace = await openInput(path, io);
  await remark(io, options, EXACT);
  const problems = new Problems();
  // A terminal must not act on what a recording holds; a program gets the writer's own lines.
  const shown = io.stdout.isTTY ? plainJson : (text: string): string => text;
  let piece = `${headerLine(trace.header)}\n`;
  let failure: InputError | null = null;
  try {
    for await (const batch of trace.observations) {
      for (const observation of batch) {
        piece += `${observationLine(observation)}\n`;
        problems.note(observation);
        if (piece.length >= PIECE) {
          await io.stdout.write(shown(piece));
          piece = '';
        }
      }
      if (io.interrupted.aborted || io.stdout.closed) break;
    }
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    failure = error;
  }
  await io.stdout.write(shown(piece));
  await problems.tell(path === '-' ? 'standard input' : path, failure, options, io);
  if (io.interrupted.aborted) return EXIT.interrupted;
  if (failure !== null && problems.observations === 0) return EXIT.unreadable;
  return failure !== null || problems.count > 0 ? EXIT.inconclusive : EXIT.holds;
}

/** What of the recording could not be read. */
class Problems {
  count = 0;
  observations = 0;
  private readonly told: string[] = [];

  note(observation: Observation): void {
    this.observations += 1;
    const missing =
      observation.kind === 'note'
        ? observation.problem !== undefined && observation.problem !== 'clock'
        : observation.kind === 'link' &&
          (observation.state === 'gap' ||
            observation.state === 'encrypted' ||
            observation.state === 'unreadable');
    if (!missing) return;
    this.count += 1;
    if (this.told.length >= PROBLEMS_AT_MOST) return;
    const { frame } = observation;
    const { says } = observation as { says: string };
    this.told.push(frame === undefined ? says : `frame ${frame}: ${says}`);
  }

  async tell(
    name: string,
    failure: InputError | null,
    options: CommonOptions,
    io: Io,
  ): Promise<void> {
    const lines = options.quiet ? [] : this.told.map((says) => `${name}, ${says}`);
    const more = this.count - this.told.length;
    if (more > 0 && !options.quiet) lines.push(`${name}: and ${more} more of the kind`);
    if (failure !== null) lines.push(failure.message);
    if (lines.length > 0) {
      await io.stderr.write(lines.map((line) => `handfast: ${plain(line)}\n`).join(''));
    }
  }
}
