// Findings: safety roots in full with what follows from them, then conformance in a line each.
import type { EvidenceKind } from '../facts/evidence.ts';
import type { Confidence } from '../facts/figures.ts';
import type { Finding, SessionResult, WindowLine } from '../rules/result.ts';
import { continued, count, moment, relative, seconds, sentence, sides } from './figures.ts';
import { fields, padEnd, padStart, paragraph, type Look } from './look.ts';

/** How much of one session is told before the reader is sent to --json. */
const ROOTS_AT_MOST = 20;
const CONSEQUENCES_AT_MOST = 8;
const CONFORMANCE_AT_MOST = 12;

const EVIDENCE: Record<EvidenceKind, string> = {
  measured: 'measured at the charging interface',
  reported: 'reported in a message by one of the sides',
  inferred: 'inferred from what the sides reported',
};

const CONFIDENCE: Record<Confidence, string> = {
  confirmed: 'confirmed: found in a public source',
  'from memory': 'from memory: known in the trade, not seen in a public source',
  'from memory, low': 'from memory, low: known roughly, editions differ',
  'project default': "project default: handfast's own choice, the standards are silent",
  derived: 'derived: the figure follows from others',
};

export function findingLines(session: SessionResult, look: Look): string[] {
  const known = new Map(session.findings.map((finding) => [finding.id, finding]));
  const roots = session.findings.filter(
    ({ causedBy }) => causedBy === null || !known.has(causedBy),
  );
  // A root of class conformance from which a safety finding follows is told in full, too.
  const serious = new Set<Finding>();
  for (const finding of session.findings) {
    if (finding.class === 'safety') serious.add(rootOf(finding, known));
  }
  const safety = roots.filter((finding) => serious.has(finding));
  const conformance = roots.filter((finding) => !serious.has(finding));
  return [
    ...group('Findings', safety, ROOTS_AT_MOST, look, (finding) =>
      rootLines(finding, session.findings, look),
    ),
    ...group('Conformance (secondary)', conformance, CONFORMANCE_AT_MOST, look, (finding) => [
      ...briefLines(finding, look, 2),
      ...consequenceLines(finding, session.findings, look, 4),
    ]),
  ];
}

function rootOf(finding: Finding, known: Map<string, Finding>): Finding {
  let root = finding;
  for (let steps = 0; steps < known.size && root.causedBy !== null; steps += 1) {
    root = known.get(root.causedBy) ?? root;
  }
  return root;
}

function group(
  title: string,
  findings: Finding[],
  most: number,
  look: Look,
  tell: (finding: Finding) => string[],
): string[] {
  if (findings.length === 0) return [];
  const lines = [look.strong(title), ...findings.slice(0, most).flatMap(tell)];
  if (findings.length > most) {
    lines.push(`  and ${count(findings.length - most, 'more finding')}; --json lists them all`);
  }
  return lines.at(-1) === '' ? lines : [...lines, ''];
}

function rootLines(finding: Finding, all: Finding[], look: Look): string[] {
  return [
    ...paragraph(
      look,
      `${look.strong(finding.id)}  ${look.name(finding.rule)}, ${status(finding)} ${sides(finding.owners)} at ${moment(finding.frame, finding.at)}`,
      2,
      6,
    ),
    ...paragraph(look, sentence(finding.says), 6),
    '',
    ...fields(look, rows(finding), 6),
    '',
    ...windowLines(finding, look, 6),
    ...consequences(finding, all, look),
  ];
}

function status(finding: Finding): string {
  if (finding.status === 'breach') return 'breach by';
  if (finding.status === 'suspected') return 'suspected breach by';
  return 'difference of';
}

function rows(finding: Finding): [string, string][] {
  const found: [string, string][] = [
    ['expected', finding.allowed],
    ['seen', finding.seen],
  ];
  if (finding.deadline !== null) {
    const { armedFrame, due_s } = finding.deadline;
    const armed = armedFrame === null ? '' : `, armed by frame ${armedFrame}`;
    const late = finding.at > due_s ? `, ${seconds(finding.at - due_s)} earlier` : '';
    found.push(['due', `at ${seconds(due_s)}${late}${armed}`]);
  }
  found.push(
    ['clause', finding.clause ?? 'none: this is a rule of the project, not of a standard'],
    ['confidence', CONFIDENCE[finding.confidence]],
    ['evidence', EVIDENCE[finding.evidence]],
  );
  return found;
}

/** The messages around a finding, times relative to it, its own message marked. */
function windowLines(finding: Finding, look: Look, indent: number): string[] {
  const { window } = finding;
  if (window.length === 0) return [];
  const frames = window.map((line) => (line.frame === null ? '-' : String(line.frame)));
  const times = window.map((line) => relative(line.at - finding.at));
  const columns = {
    frame: Math.max(5, ...frames.map((text) => text.length)),
    time: Math.max(8, ...times.map((text) => text.length)),
    name: Math.max(...window.map((line) => line.name.length)),
  };
  const told: string[] = [];
  for (const [index, line] of window.entries()) {
    if (line.omitted > 0 && index > 0) {
      const gap = `${padStart('...', 3 + columns.frame)} ${count(line.omitted, 'message')} left out`;
      told.push(`${' '.repeat(indent)}${look.faint(gap)}`);
    }
    const head = [
      line.here ? '>>' : '  ',
      padStart(frames[index]!, columns.frame),
      padStart(times[index]!, columns.time),
      ` ${line.from}`,
      padEnd(line.name, columns.name),
    ].join(' ');
    told.push(...windowLine(line, head, look, indent));
  }
  const title = `${padStart('frame', 3 + columns.frame)} ${padStart('relative', columns.time)}  from    message`;
  return [`${' '.repeat(indent)}${look.faint(title)}`, ...told, ''];
}

/** Beside the name where there is room for it, else on lines of its own beneath. */
function windowLine(line: WindowLine, head: string, look: Look, indent: number): string[] {
  const paint = line.here ? look.strong : (text: string) => text;
  const start = `${' '.repeat(indent)}${paint(head.trimEnd())}`;
  if (line.says === '') return [start];
  const hang = indent + head.length + 2;
  if (look.width - hang >= Math.min(24, line.says.length)) {
    const [first, ...rest] = paragraph(look, line.says, hang);
    return [`${' '.repeat(indent)}${paint(head)}  ${first!.trimStart()}`, ...rest];
  }
  return [start, ...paragraph(look, line.says, indent + 10)];
}

function consequences(finding: Finding, all: Finding[], look: Look): string[] {
  const lines = consequenceLines(finding, all, look, 8);
  return lines.length === 0 ? [] : [`${' '.repeat(6)}${look.faint('which led to')}`, ...lines, ''];
}

/** What follows from a finding, and from that, each step further in. */
function consequenceLines(cause: Finding, all: Finding[], look: Look, indent: number): string[] {
  const next = all.filter((finding) => finding.causedBy === cause.id && finding.id !== cause.id);
  const lines: string[] = [];
  for (const finding of next.slice(0, CONSEQUENCES_AT_MOST)) {
    lines.push(...briefLines(finding, look, indent));
    // A chain deeper than the page is wide is a fault of the input, not something to draw.
    if (indent < 20) lines.push(...consequenceLines(finding, all, look, indent + 2));
  }
  if (next.length > CONSEQUENCES_AT_MOST) {
    lines.push(`${' '.repeat(indent)}and ${next.length - CONSEQUENCES_AT_MOST} more`);
  }
  return lines;
}

function briefLines(finding: Finding, look: Look, indent: number): string[] {
  const who = finding.owners.join(' and ') || 'neither side';
  const mark = finding.status === 'breach' ? '' : `, ${finding.status}`;
  const text = `${finding.id}  ${look.name(finding.rule)}, ${who}${mark}, ${moment(finding.frame, finding.at)}: ${continued(sentence(finding.says))}`;
  return paragraph(look, text, indent, indent + 4);
}
