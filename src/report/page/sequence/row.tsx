// One line of the sequence.
import type { ComponentChildren } from 'preact';
import { relative, seconds } from '../../figures.ts';
import { plain } from '../../plain.ts';
import type { Log } from '../log.ts';
import type { Answers } from './answers.ts';
import type { Fold } from './lines.ts';

/** A silence longer than this is marked. */
const GAP_s = 1;

interface Place {
  top: number;
  height: number;
}

interface RowProps {
  row: number;
  /** The row shown before it. */
  before: number | null;
  log: Log;
  answers: Answers;
  flags: string[];
  place: Place;
  current: boolean;
  onSelect: () => void;
  children?: ComponentChildren;
}

export function RowLine(props: RowProps) {
  const { row, before, log, answers, flags, place, current, onSelect, children } = props;
  const head = log.head(row);
  const since = before === null ? null : log.at[row]! - log.at[before]!;
  const side = head.kind === 'message' ? head.from : 'record';
  return (
    <li
      class={`line of-${side}${current ? ' current' : ''}${flags.length > 0 ? ' flagged' : ''}`}
      style={{ top: `${place.top}px` }}
    >
      <button
        type="button"
        tabIndex={-1}
        class="line-head"
        style={{ height: `${place.height}px` }}
        aria-expanded={current}
        onClick={onSelect}
      >
        <span class="line-frame number">{log.frames[row] === 0 ? '' : log.frames[row]}</span>
        <span class="line-time number">{seconds(log.at[row]!)}</span>
        <span class={`line-since number${since !== null && since > GAP_s ? ' gap' : ''}`}>
          {since === null ? '' : relative(since).replace(' s', '')}
        </span>
        <span class="line-said">
          <span class="line-side">{side}</span>
          <span class="line-name">{plain(head.name)}</span>
          <span class="line-says">{log.says(row)}</span>
          <Chips row={row} since={since} log={log} answers={answers} flags={flags} />
        </span>
      </button>
      {children}
    </li>
  );
}

interface ChipProps extends Pick<RowProps, 'row' | 'log' | 'answers' | 'flags'> {
  since: number | null;
}

/** What is out of the ordinary, each a word. */
function Chips({ row, since, log, answers, flags }: ChipProps) {
  const { name } = log.head(row);
  const wait = answers.wait_s[row]!;
  const late = wait > log.timeout_s(name.replace(/Res$/, 'Req'));
  const changed = log.changed(row);
  return (
    <span class="chips">
      {flags.map((flag) => (
        <span key={flag} class="chip flag" title={flag}>
          {flags.length > 1 ? flag.split(' ')[0] : flag}
        </span>
      ))}
      {answers.unanswered.has(row) && <span class="chip alarm">no answer</span>}
      {late && <span class="chip alarm">late, {seconds(wait)}</span>}
      {since !== null && since > GAP_s && <span class="chip">gap {seconds(since)}</span>}
      {answers.repeats[row]! > 0 && <span class="chip faint">repeat {answers.repeats[row]}</span>}
      {changed !== null && changed > 0 && <span class="chip faint">{changed} changed</span>}
    </span>
  );
}

interface FoldProps {
  fold: Fold;
  log: Log;
  place: Place;
  current: boolean;
  onOpen: () => void;
}

export function FoldLine({ fold, log, place, current, onOpen }: FoldProps) {
  const { first, last, exchanges, request } = fold;
  const frames =
    log.frames[first] === 0 ? '' : `, frames ${log.frames[first]} to ${log.frames[last]}`;
  return (
    <li class={`line fold${current ? ' current' : ''}`} style={{ top: `${place.top}px` }}>
      <button
        type="button"
        tabIndex={-1}
        class="line-head"
        style={{ height: `${place.height}px` }}
        onClick={onOpen}
      >
        <span class="fold-words">
          {exchanges} more exchanges of {plain(request)} in{' '}
          {seconds(log.at[last]! - log.at[first]!)}
          {frames}
        </span>
        <span class="fold-open">unfold</span>
      </button>
    </li>
  );
}
