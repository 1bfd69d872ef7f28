// The verdict in one plain sentence, whatever was replayed.
import type { FileResult, Finding, Result, SessionResult, Verdict } from '../rules/result.ts';
import { continued, count, list, moment, sentence, sides } from './figures.ts';
import { paragraph, type Look } from './look.ts';
import { VERDICTS } from '../rules/verdicts.ts';

const TOLD: Record<Verdict, string> = {
  broken: 'broke a rule',
  unreadable: 'could not be read',
  inconclusive: 'could not be decided',
  holds: 'held',
};

export function verdictSentence(result: Result, look: Look): string[] {
  const word = look.verdict[result.verdict](result.verdict.toUpperCase());
  return paragraph(look, `${word}: ${verdictSays(result)}`, 0, 2);
}

/** The verdict on everything as a sentence without its verdict word. */
export function verdictSays(result: Result): string {
  const [file, ...others] = result.files;
  if (file === undefined) return 'nothing was replayed.';
  if (others.length > 0) return tally(result);
  if (file.sessions.length === 0) return fileSays(file);
  if (file.sessions.length > 1) return tally(result);
  const session = file.sessions[0]!;
  // A session may hold in what is left of a damaged recording.
  return file.verdict === session.verdict ? sessionSays(session) : fileSays(file);
}

/** One session's verdict as a sentence without its verdict word. */
export function sessionSays(session: SessionResult): string {
  if (session.verdict === 'broken') {
    const first = firstRoot(session);
    if (first === undefined) return sentence(session.reasons[0] ?? 'a rule was broken');
    return `${sides(first.owners)} broke ${first.rule} at ${moment(first.frame, first.at)}: ${continued(sentence(first.says))}`;
  }
  if (session.verdict === 'holds') {
    const energy = session.summary.energy_Wh;
    return `no safety rule was broken in this session${energy === 0 ? ' (no energy was moved)' : ''}.`;
  }
  return sentence(session.reasons[0] ?? TOLD[session.verdict]);
}

/** The finding that decides: the first root breach, a safety one if there is any. */
function firstRoot(session: SessionResult): Finding | undefined {
  const roots = session.findings.filter((finding) => finding.causedBy === null);
  return (
    roots.find((finding) => finding.class === 'safety' && finding.status === 'breach') ??
    roots.find((finding) => finding.status === 'breach') ??
    roots[0]
  );
}

/** Why a file without a session has its verdict; a reason that already names the file stands alone. */
export function fileSays(file: FileResult): string {
  const reason = file.reasons[0] ?? 'no charging session is in it';
  return reason.startsWith(file.file) ? reason : `${file.file}: ${reason}`;
}

/** `of 14 sessions in 15 files, 11 broke a rule and 3 held; 1 file could not be read.` */
function tally(result: Result): string {
  const sessions = result.files.flatMap((file) => file.sessions.map(({ verdict }) => verdict));
  const without = result.files.filter((file) => file.sessions.length === 0);
  const whole = `of ${count(sessions.length, 'session')} in ${count(result.files.length, 'file')}`;
  const parts = amounts(sessions).map(([verdict, amount]) => `${amount} ${TOLD[verdict]}`);
  const files = amounts(without.map(({ verdict }) => verdict)).map(
    ([verdict, amount]) => `${count(amount, 'file')} ${TOLD[verdict]}`,
  );
  if (parts.length === 0) return `${list(files)}.`;
  return `${whole}, ${list(parts)}${files.length > 0 ? `; ${list(files)}` : ''}.`;
}

function amounts(verdicts: Verdict[]): [Verdict, number][] {
  return VERDICTS.map((verdict): [Verdict, number] => [
    verdict,
    verdicts.filter((one) => one === verdict).length,
  ]).filter(([, amount]) => amount > 0);
}
