// A session's steps as rows of a drawing: repeats folded into one, silences told, findings put where they belong.
import type { Finding, SessionResult } from '../../rules/result.ts';
import type { Side } from '../../trace/observation.ts';
import { figure, sides } from '../figures.ts';
import type { SequenceStep } from './sequence-steps.ts';

export type SequenceRow =
  | ({ readonly kind: 'message'; readonly from: Side; readonly marks: readonly string[] } & Told)
  | ({ readonly kind: 'event' } & Told)
  | {
      readonly kind: 'repeats';
      readonly count: number;
      readonly name: string;
      readonly says: string;
    }
  | { readonly kind: 'silence'; readonly says: string }
  | { readonly kind: 'finding'; readonly finding: Finding; readonly says: string }
  | { readonly kind: 'omitted'; readonly says: string };

interface Told {
  readonly at: number;
  readonly frame: number | null;
  readonly name: string;
  readonly says: string;
}

/** So many rows are still looked at. */
const ROWS_AT_MOST = 500;
/** Silence of this length is told. */
const SILENCE_S = 2;
/** Of a run of exchanges of one name these many messages are shown at its beginning and its end. */
const SHOWN = 2;
const FOLDED_AT_LEAST = 3;

export function sequenceRows(
  steps: readonly SequenceStep[],
  findings: SessionResult['findings'],
): SequenceRow[] {
  const found = placed(steps, findings);
  const rows: SequenceRow[] = [];
  let before: number | null = null;
  for (let index = 0; index < steps.length;) {
    const run = foldable(steps, index, found);
    if (run > 0) {
      rows.push(repeatsOf(steps.slice(index, index + run)));
      before = steps[index + run - 1]!.at;
      index += run;
      continue;
    }
    const step = steps[index]!;
    if (before !== null && step.at - before >= SILENCE_S) {
      rows.push({ kind: 'silence', says: `${figure(step.at - before)} s without a message` });
    }
    before = step.at;
    rows.push(...rowsOf(step, found.get(index) ?? []));
    index += 1;
  }
  return limited(rows);
}

/** Findings by the step they are told after: the one of their frame, else the last one up to their time. */
function placed(
  steps: readonly SequenceStep[],
  findings: readonly Finding[],
): Map<number, Finding[]> {
  const found = new Map<number, Finding[]>();
  if (steps.length === 0) return found;
  for (const finding of findings) {
    const { frame, at } = finding;
    let index = frame === null ? -1 : steps.findIndex((step) => step.frame === frame);
    if (index < 0)
      index = Math.max(
        0,
        steps.findLastIndex((step) => step.at <= at + 1e-9),
      );
    found.set(index, [...(found.get(index) ?? []), finding]);
    // The message that began its deadline is shown, too.
    const armed = finding.deadline?.armedFrame ?? null;
    const began = armed === null ? -1 : steps.findIndex((step) => step.frame === armed);
    if (began >= 0 && !found.has(began)) found.set(began, []);
  }
  return found;
}

/**
 * How many steps from here on are folded: a run of requests and answers of one name, but the first and last of it. 0
 * where nothing is.
 */
function foldable(
  steps: readonly SequenceStep[],
  index: number,
  found: ReadonlyMap<number, Finding[]>,
): number {
  const name = base(steps[index]!);
  if (name === '' || found.has(index)) return 0;
  for (let back = 1; back <= SHOWN; back += 1) {
    if (index < back || base(steps[index - back]!) !== name) return 0;
  }
  let end = index;
  while (end < steps.length && base(steps[end]!) === name && !found.has(end)) end += 1;
  // Where a finding ends the run, its message is shown anyway, and what led to it.
  const run = end - SHOWN - index;
  return run >= FOLDED_AT_LEAST * 2 ? run - (run % 2) : 0;
}

/** `CurrentDemand` of a request and its answer alike; empty for what is no message. */
function base({ name }: SequenceStep): string {
  return name.replace(/(Req|Res)$/, '');
}

function repeatsOf(run: readonly SequenceStep[]): SequenceRow {
  const [first] = run as [SequenceStep];
  const requests = run.filter(({ from }) => from === first.from);
  const count = requests.length;
  const name = base(first);
  const lasted = figure(run.at(-1)!.at - first.at);
  const from = requests[0]!.says;
  const to = requests.at(-1)!.says;
  const what = from === to ? from : `from ${from} to ${to}`;
  const says = `${count} × ${name}, ${lasted} s${what === '' ? '' : `: ${what}`}`;
  return { kind: 'repeats', count, name, says };
}

function rowsOf(step: SequenceStep, findings: readonly Finding[]): SequenceRow[] {
  const { at, frame, name, says, from } = step;
  const told = { at, frame, name, says };
  const own: SequenceRow =
    from === null
      ? { kind: 'event', ...told }
      : { kind: 'message', from, marks: findings.map(({ id }) => id), ...told };
  return [
    own,
    ...findings.map((finding): SequenceRow => {
      const { id, rule, status, owners } = finding;
      const head = `${id} ${rule}, ${status} by ${sides(owners)}`;
      return { kind: 'finding', finding, says: `${head}: ${finding.says}` };
    }),
  ];
}

/** Rows around findings are kept first; the others from the beginning on. */
function limited(rows: SequenceRow[]): SequenceRow[] {
  if (rows.length <= ROWS_AT_MOST) return rows;
  const keep = new Set<number>();
  for (const [index, { kind }] of rows.entries()) {
    if (kind !== 'finding') continue;
    for (let near = index - 4; near <= index + 2; near += 1) keep.add(near);
  }
  for (let index = 0; keep.size < ROWS_AT_MOST; index += 1) keep.add(index);
  const kept: SequenceRow[] = [];
  let left = 0;
  const tell = (): void => {
    if (left > 0) kept.push({ kind: 'omitted', says: `${left} rows left out` });
    left = 0;
  };
  for (const [index, row] of rows.entries()) {
    if (!keep.has(index)) left += 1;
    else {
      tell();
      kept.push(row);
    }
  }
  tell();
  return kept;
}
