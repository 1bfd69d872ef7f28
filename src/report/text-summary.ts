// Many files at a glance: who broke which rule how often.
import stringWidth from 'string-width';
import type { FileResult, Finding, Result } from '../rules/result.ts';
import { count, energy, list } from './figures.ts';
import { fit, padEnd, type Look } from './look.ts';
import { plainTable } from './text-rule-table.ts';

interface Row {
  finding: Finding;
  findings: number;
  sessions: Set<unknown>;
  file: string;
}

/** A line for each file that held. */
export function heldLines(files: FileResult[], look: Look): string[] {
  const told = files.map(heldSays);
  const longest = Math.max(...told.map((says) => says.length));
  const room = Math.max(20, look.width - 4 - Math.min(longest, 40));
  const names = files.map((file) => fit(file.file, room, 'end'));
  const column = Math.max(...names.map((name) => stringWidth(name)));
  return told.map((says, index) => fit(`  ${padEnd(names[index]!, column)}  ${says}`, look.width));
}

function heldSays({ sessions }: FileResult): string {
  const told = sessions.map(({ protocol, summary: { energy_Wh } }) => {
    if (energy_Wh === null) return `${protocol}, energy not observed`;
    return `${protocol}, ${energy_Wh === 0 ? 'no energy' : energy(energy_Wh)}`;
  });
  if (told.length === 1) return told[0]!;
  return `${count(told.length, 'session')}: ${list([...new Set(told)].slice(0, 3))}`;
}

/** Root findings grouped by rule, owners and status; safety first, then by number of sessions. */
export function summaryLines(result: Result, look: Look): string[] {
  const rows = [...grouped(result).values()].sort(
    (a, b) => rank(a.finding) - rank(b.finding) || b.sessions.size - a.sessions.size,
  );
  if (rows.length === 0) return [];
  const whose = rows.map(({ finding }) => finding.owners.join(' and ') || 'neither side');
  const names = Math.max(...rows.map((row) => ruleName(row.finding).length));
  const room = look.width - names - Math.max(...whose.map((owners) => owners.length)) - 26;
  const withFile = room >= 12;
  const grid = plainTable();
  grid.push(['  rule', 'whose', 'sessions', 'findings', ...(withFile ? ['first in'] : [])]);
  for (const [index, { finding, findings, sessions, file }] of rows.entries()) {
    const row = [`  ${ruleName(finding)}`, whose[index]!, String(sessions.size), String(findings)];
    if (withFile) row.push(fit(file, room, 'end'));
    grid.push(row);
  }
  const lines = grid
    .toString()
    .split('\n')
    .map((line) => line.trimEnd());
  return [look.strong('By rule and owner'), look.faint(lines[0]!), ...lines.slice(1), ''];
}

function grouped(result: Result): Map<string, Row> {
  const rows = new Map<string, Row>();
  for (const file of result.files) {
    for (const session of file.sessions) {
      for (const finding of session.findings) {
        if (finding.causedBy !== null) continue;
        const key = [finding.rule, finding.status, ...finding.owners].join('|');
        const row = rows.get(key) ?? { finding, findings: 0, sessions: new Set(), file: file.file };
        row.findings += 1;
        row.sessions.add(session);
        rows.set(key, row);
      }
    }
  }
  return rows;
}

function ruleName(finding: Finding): string {
  return finding.status === 'breach' ? finding.rule : `${finding.rule}, ${finding.status}`;
}

function rank(finding: Finding): number {
  return (finding.class === 'safety' ? 0 : 2) + (finding.status === 'breach' ? 0 : 1);
}
