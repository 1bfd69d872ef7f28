// What one message holds: its fields, those that changed marked, where both sides may be after it, and the message as
// JSON to take away.
import { useLayoutEffect, useRef, useState } from 'preact/hooks';
import type { Side } from '../../../trace/observation.ts';
import { plainJson } from '../../plain.ts';
import { seconds } from '../../figures.ts';
import type { Field, Log } from '../log.ts';
import { copy } from './copy.ts';

interface DetailProps {
  log: Log;
  row: number;
  onRow: (row: number) => void;
  onSize: (height: number) => void;
}

export function Detail({ log, row, onRow, onSize }: DetailProps) {
  const box = useRef<HTMLDivElement>(null);
  useLayoutEffect(() => {
    const element = box.current!;
    const sizes = new ResizeObserver(() => onSize(element.offsetHeight));
    sizes.observe(element);
    onSize(element.offsetHeight);
    return () => sizes.disconnect();
  }, [row, onSize]);
  const { sender, receiver, protocol, link, recorder } = log.head(row);
  const before = log.sameBefore(row);
  const way = [sender, receiver].filter((one) => one !== undefined).join(' to ');
  const about = [protocol, link, way, recorder].filter((one) => one !== undefined && one !== '');
  return (
    <div class="detail" ref={box}>
      <div class="detail-bar">
        <CopyButton text={() => plainJson(JSON.stringify(log.line(row), null, 2))} />
        {before !== null && (
          <button type="button" onClick={() => onRow(before)}>
            The one before, {seconds(log.at[row]! - log.at[before]!)} earlier
          </button>
        )}
        <span class="quiet">{about.join(' · ')}</span>
      </div>
      <div class="detail-parts">
        <Fields fields={log.fields(row)} />
        <States log={log} row={row} />
      </div>
    </div>
  );
}

function CopyButton({ text }: { text: () => string }) {
  const [told, setTold] = useState('Copy as JSON');
  const onClick = async () => {
    setTold((await copy(text())) ? 'Copied' : 'The browser does not allow to copy');
    setTimeout(() => setTold('Copy as JSON'), 1500);
  };
  return (
    <button type="button" onClick={onClick}>
      {told}
    </button>
  );
}

function Fields({ fields }: { fields: Field[] }) {
  if (fields.length === 0) return <p class="quiet">It has no fields.</p>;
  return (
    <table class="fields">
      <thead>
        <tr>
          <th scope="col">field</th>
          <th scope="col">value</th>
        </tr>
      </thead>
      <tbody>
        {fields.map(({ path, value, before }) => {
          const changed = before !== null && before !== value;
          return (
            <tr key={path} class={changed ? 'changed' : undefined}>
              <th scope="row">{path}</th>
              <td>
                {value}
                {changed && <span class="quiet"> was {before}</span>}
              </td>
            </tr>
          );
        })}
      </tbody>
    </table>
  );
}

/** More than this of one side say only that anything may be. */
const STATES_AT_MOST = 6;

function States({ log, row }: { log: Log; row: number }) {
  const sets = log.states(row);
  const sides = (['vehicle', 'charger'] as const).filter((side) => sets[side].states.length > 0);
  if (sides.length === 0) return null;
  return (
    <div class="states">
      {sides.map((side) => (
        <div key={side}>
          <Some title={`After it the ${side} may be in`} side={side} words={sets[side].states} />
          {sets[side].next.length > 0 && (
            <Some title="and could send next" side={side} words={sets[side].next} />
          )}
        </div>
      ))}
    </div>
  );
}

function Some({ title, side, words }: { title: string; side: Side; words: string[] }) {
  const told = [...new Set(words.map(withoutChoice))];
  const more = told.length - STATES_AT_MOST;
  return (
    <>
      <h4 class={`of-${side}`}>{title}</h4>
      <ul>
        {told.slice(0, STATES_AT_MOST).map((one) => (
          <li key={one}>{one}</li>
        ))}
        {more > 0 && <li class="quiet">or {more} others</li>}
      </ul>
    </>
  );
}

/** The name of a machine's choice is for its author; timers and what comes at once are told. */
const withoutChoice = (words: string): string => words.replace(/ \((?:choose|sense)\.[^)]*\)$/, '');
