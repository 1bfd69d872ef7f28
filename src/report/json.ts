// The result for other programs: one object, or one session a line.
import type { FileResult, SessionResult } from '../rules/result.ts';
import { plainJson } from './plain.ts';

export function json(result: object): string {
  return `${plainJson(JSON.stringify(result, null, 2))}\n`;
}

/** `{file, epoch, …session}` on one line. */
export function sessionLine(file: string, epoch: string | null, session: SessionResult): string {
  return `${plainJson(JSON.stringify({ file, epoch, ...session }))}\n`;
}

/** A file in which no session could be told, on one line of the same stream: it has no `id`. */
export function fileWithoutSession({ file, epoch, verdict, reasons }: FileResult): string {
  return `${plainJson(JSON.stringify({ file, epoch, verdict, reasons }))}\n`;
}
