// Who, when, how much, and how it ended.
import type { FileResult, SessionResult } from '../../rules/result.ts';
import { sessionFacts } from '../session-words.ts';

export function SessionFacts({ file, session }: { file: FileResult; session: SessionResult }) {
  return (
    <dl class="pairs facts">
      {sessionFacts(file, session).map(([name, words]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{words}</dd>
        </div>
      ))}
    </dl>
  );
}
