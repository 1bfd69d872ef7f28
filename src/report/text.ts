// The result as a person reads it: the verdict in one sentence, then what it rests on, most serious first.
import type { FileResult, Result, SessionResult } from '../rules/result.ts';
import { paragraph, type Look } from './look.ts';
import { plainDeep } from './plain.ts';
import { sessionLines, type Detail } from './text-session.ts';
import { heldLines, summaryLines } from './text-summary.ts';
import { fileSays, verdictSentence } from './text-verdict.ts';

const NOT_A_CLEARANCE =
  '`holds` is evidence about this recording alone, not a clearance to energise anything.';

export interface TextOptions {
  /** Only the verdict's sentence. */
  quiet?: boolean;
  /** The command that shows a failure again, ready for a shell; printed last and never wrapped. */
  again?: string | null;
}

/** Lines of text joined by newlines, the last one ended. Strings from the recording are made harmless. */
export function text(input: Result, look: Look, options: TextOptions = {}): string {
  const result = plainDeep(input);
  const lines = verdictSentence(result, look);
  if (!options.quiet) {
    lines.push('', ...body(result, look));
    if (someSession(result, (session) => session.verdict === 'holds')) {
      lines.push(...paragraph(look, NOT_A_CLEARANCE).map(look.faint), '');
    }
  }
  if (result.verdict !== 'holds' && options.again) {
    if (!options.quiet) lines.push('To see it again:');
    lines.push(options.again);
  }
  while (lines.at(-1) === '') lines.pop();
  return `${lines.join('\n')}\n`;
}

function body(result: Result, look: Look): string[] {
  if (result.files.length === 1) return fileBody(result.files[0]!, look, 'full');
  const lines = result.files.flatMap((file) =>
    file.verdict === 'holds' ? [] : fileBody(file, look, 'short'),
  );
  const held = result.files.filter((file) => file.verdict === 'holds');
  if (held.length > 0) {
    lines.push(look.strong('No safety rule was broken in'));
    lines.push(...heldLines(held, look), '');
  }
  return [...lines, ...summaryLines(result, look)];
}

function fileBody(file: FileResult, look: Look, detail: Detail): string[] {
  const lines = file.sessions.flatMap((session) => sessionLines(file, session, look, detail));
  if (file.sessions.length > 0) return [...lines, ...recordingLines(file, look)];
  if (detail === 'full' && file.reasons.length < 2) return [];
  const word = look.verdict[file.verdict](file.verdict.toUpperCase());
  return [
    ...paragraph(look, `${word}: ${fileSays(file)}`, 0, 2),
    ...file.reasons.slice(1).flatMap((reason) => paragraph(look, reason, 2)),
    '',
  ];
}

/** What was wrong with the recording itself. */
function recordingLines({ file, reasons }: FileResult, look: Look): string[] {
  if (reasons.length === 0) return [];
  const told = reasons.flatMap((reason) => paragraph(look, reason, 2, 4));
  return [...paragraph(look, look.strong(`The recording ${file}`)), ...told, ''];
}

function someSession(result: Result, test: (session: SessionResult) => boolean): boolean {
  return result.files.some((file) => file.sessions.some(test));
}
