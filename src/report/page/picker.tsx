// Which session is looked at, where the report holds several.
import { useState } from 'preact/hooks';
import type { FileResult, SessionResult } from '../../rules/result.ts';
import { seconds } from '../figures.ts';
import type { ReportData } from '../report-data.ts';
import { Mark } from './marks.tsx';

/** A session, or a file in which none is. */
export interface Pick {
  fileIndex: number;
  sessionIndex: number;
  file: FileResult;
  session: SessionResult | null;
  says: string;
  timeline: boolean;
}

export function picksOf({ result, sessions }: ReportData): Pick[] {
  return result.files.flatMap((file, fileIndex): Pick[] => {
    const common = { fileIndex, file };
    if (file.sessions.length === 0) {
      const says = file.reasons[0] ?? 'no charging session is in it';
      return [{ ...common, sessionIndex: 0, session: null, says, timeline: false }];
    }
    return file.sessions.map((session, sessionIndex) => ({
      ...common,
      sessionIndex,
      session,
      ...sessions[fileIndex]![sessionIndex]!,
    }));
  });
}

interface PickerProps {
  picks: Pick[];
  picked: number;
  onPick: (index: number) => void;
}

export function Picker({ picks, picked, onPick }: PickerProps) {
  const [words, setWords] = useState('');
  const shown = picks
    .map((pick, index) => ({ pick, index }))
    .filter(({ pick }) => matches(pick, words));
  return (
    <nav class="picker" aria-label="Sessions">
      <h2>{picks.length} sessions</h2>
      <input
        type="search"
        placeholder="file, rule, verdict"
        aria-label="Search the sessions"
        value={words}
        onInput={(event) => setWords(event.currentTarget.value)}
      />
      <label class="picker-select">
        <span class="unseen">Session</span>
        <select value={picked} onChange={(event) => onPick(Number(event.currentTarget.value))}>
          {picks.map((pick, index) => (
            <option key={index} value={index}>
              {verdictOf(pick)}: {shortName(pick)}
            </option>
          ))}
        </select>
      </label>
      <ol>
        {shown.map(({ pick, index }) => (
          <li key={index}>
            <button
              type="button"
              aria-current={index === picked ? 'true' : undefined}
              onClick={() => onPick(index)}
              title={pick.says}
            >
              <Mark verdict={verdictOf(pick)} size={14} />
              <span class="pick-name">{shortName(pick)}</span>
              <span class="pick-says">{pickWords(pick)}</span>
            </button>
          </li>
        ))}
        {shown.length === 0 && <li class="quiet">no session is like that</li>}
      </ol>
    </nav>
  );
}

export const verdictOf = ({ session, file }: Pick): string => (session ?? file).verdict;

function shortName({ file, session }: Pick): string {
  const name = file.file.split('/').at(-1)!;
  return file.sessions.length > 1 && session !== null ? `${name} · ${session.id}` : name;
}

function pickWords(pick: Pick): string {
  const { session } = pick;
  if (session === null) return verdictOf(pick);
  const root = session.findings.find(
    ({ causedBy, class: of }) => causedBy === null && of === 'safety',
  );
  const long = seconds(session.to - session.from).replace(/\.\d+/, '');
  return root === undefined
    ? `${session.verdict}, ${long}`
    : `${session.verdict}: ${root.rule}, ${root.owners.join(' and ')}`;
}

function matches(pick: Pick, words: string): boolean {
  const text = `${pick.file.file} ${pick.session?.id ?? ''} ${pick.says} ${pickWords(pick)}`;
  return words
    .toLowerCase()
    .split(/\s+/)
    .every((word) => text.toLowerCase().includes(word));
}
