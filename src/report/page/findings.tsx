// What went wrong, worst first: who, where, what was seen and what would have been allowed.
import type { Finding, SessionResult } from '../../rules/result.ts';
import { moment, relative, sentence, sides } from '../figures.ts';

/** Moves chart and sequence to a place; null where there is neither. */
export type OnShow = ((place: { frame: number | null; at: number }) => void) | null;

export function Findings({ session, onShow }: { session: SessionResult; onShow: OnShow }) {
  const { findings } = session;
  if (findings.length === 0) return null;
  const roots = findings.filter(({ causedBy }) => causedBy === null);
  return (
    <section class="sheet" aria-labelledby="findings">
      <h2 id="findings">Findings</h2>
      {roots.map((root) => (
        <FindingCard key={root.id} finding={root} onShow={onShow}>
          {findings
            .filter(({ causedBy }) => causedBy === root.id)
            .map((one) => (
              <FindingCard key={one.id} finding={one} onShow={onShow} />
            ))}
        </FindingCard>
      ))}
    </section>
  );
}

interface CardProps {
  finding: Finding;
  onShow: OnShow;
  children?: preact.ComponentChildren;
}

function FindingCard({ finding, onShow, children }: CardProps) {
  const { id, rule, status, owners, frame, at, says, causedBy } = finding;
  const what = status === 'breach' ? 'breach' : status;
  return (
    <article class={`finding is-${status} of-${finding.class}`}>
      <header>
        <span class="flag">{id}</span>
        <h3>{rule}</h3>
        <span>
          {what} by {sides(owners)}
          {causedBy !== null && `, follows from ${causedBy}`}
        </span>
        {onShow !== null && (
          <button type="button" class="go" onClick={() => onShow({ frame, at })}>
            Show {moment(frame, at)}
          </button>
        )}
      </header>
      <p>{sentence(says)}</p>
      <dl class="pairs">
        <Row name="expected" words={finding.allowed} />
        <Row name="seen" words={finding.seen} />
        <Row name="clause" words={finding.clause ?? 'none'} />
        <Row name="confidence" words={`${finding.confidence}; ${finding.evidence}`} />
        {finding.deadline !== null && (
          <Row name="deadline" words={deadlineWords(finding.deadline)} />
        )}
      </dl>
      {finding.window.length > 0 && <Around finding={finding} onShow={onShow} />}
      {children}
    </article>
  );
}

function Row({ name, words }: { name: string; words: string }) {
  return (
    <div>
      <dt>{name}</dt>
      <dd>{words}</dd>
    </div>
  );
}

function deadlineWords({ armedFrame, due_s }: NonNullable<Finding['deadline']>): string {
  const armed = armedFrame === null ? '' : `, running from frame ${armedFrame}`;
  return `ran out at ${due_s.toFixed(3)} s${armed}`;
}

/** The messages around it. */
function Around({ finding, onShow }: { finding: Finding; onShow: OnShow }) {
  return (
    <details class="around" open={finding.class === 'safety' && finding.causedBy === null}>
      <summary>Messages around it</summary>
      <div class="scroll" tabIndex={0} role="group" aria-label={`Messages around ${finding.id}`}>
        <table>
          <thead>
            <tr>
              <th scope="col">frame</th>
              <th scope="col">relative</th>
              <th scope="col">from</th>
              <th scope="col">message</th>
              <th scope="col">says</th>
            </tr>
          </thead>
          <tbody>
            {finding.window.map((line) => (
              <tr
                key={`${line.at} ${line.from} ${line.name}`}
                class={line.here ? 'here' : undefined}
              >
                <td class="number">
                  {line.omitted > 0 && <span class="quiet">+{line.omitted} </span>}
                  {line.frame ?? ''}
                </td>
                <td class="number">{line.here ? 'here' : relative(line.at - finding.at)}</td>
                <td class={`of-${line.from}`}>{line.from}</td>
                <td>
                  {onShow === null ? (
                    line.name
                  ) : (
                    <button type="button" class="plain" onClick={() => onShow(line)}>
                      {line.name}
                    </button>
                  )}
                </td>
                <td>{line.says}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </details>
  );
}
