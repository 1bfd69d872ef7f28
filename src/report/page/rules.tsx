// Rule by rule: what it came to, whose duty it is, how close it came.
import type { Finding, Margin, RuleResult } from '../../rules/result.ts';
import { figure, list, sentence } from '../figures.ts';
import type { ReportRule } from '../report-data.ts';
import type { OnShow } from './findings.tsx';
import { VerdictWord } from './marks.tsx';

interface RulesProps {
  rules: RuleResult[];
  told: ReportRule[];
  findings: Finding[];
  onShow: OnShow;
}

export function Rules({ rules, told, findings, onShow }: RulesProps) {
  if (rules.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="rules">
      <h2 id="rules">Rules, and how close they came</h2>
      <table class="rules">
        <thead>
          <tr>
            <th scope="col">rule</th>
            <th scope="col">verdict</th>
            <th scope="col">margin</th>
            <th scope="col">whose duty</th>
          </tr>
        </thead>
        <tbody>
          {rules.map((rule) => (
            <RuleRow
              key={rule.rule}
              rule={rule}
              told={told.find(({ id }) => id === rule.rule)}
              owners={ownersOf(rule, findings)}
              onShow={onShow}
            />
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** Who broke it, by the findings of this session. */
function ownersOf({ rule }: RuleResult, findings: Finding[]): string[] {
  return [...new Set(findings.filter((one) => one.rule === rule).flatMap(({ owners }) => owners))];
}

interface RowProps {
  rule: RuleResult;
  told: ReportRule | undefined;
  owners: string[];
  onShow: OnShow;
}

function RuleRow({ rule, told, owners, onShow }: RowProps) {
  const { verdict, margin, reason } = rule;
  return (
    <tr class={`is-${verdict.replace(' ', '-')}`}>
      <th scope="row">
        <details>
          <summary>
            {rule.rule}
            {rule.class === 'conformance' && <span class="quiet"> (conformance)</span>}
          </summary>
          {told !== undefined && <p>{told.says}</p>}
          {told !== undefined && <p class="quiet">{told.clause}</p>}
          {reason !== '' && <p>{sentence(reason)}</p>}
        </details>
      </th>
      <td>
        <VerdictWord verdict={verdict} />
      </td>
      <td>{margin !== null && <MarginBar margin={margin} onShow={onShow} />}</td>
      <td>
        {owners.length > 0 ? (
          <strong>broken by {list(owners)}</strong>
        ) : (
          <span class="quiet">{list(told?.owners ?? [])}</span>
        )}
      </td>
    </tr>
  );
}

/** The limit stands at three quarters of the width, so that what passes it can be seen to. */
const LIMIT_AT = 0.75;

function MarginBar({ margin, onShow }: { margin: Margin; onShow: OnShow }) {
  const { value, limit, unit, frame, at } = margin;
  const share = limit === 0 ? (value > 0 ? 2 : 0) : value / limit;
  const over = share > 1;
  const width = `${Math.min(1, share * LIMIT_AT) * 100}%`;
  const words = `${figure(value)} of ${figure(limit)} ${unit}`;
  return (
    <div class="margin">
      <span class={over ? 'bar over' : 'bar'} aria-hidden="true">
        <span class="fill" style={{ width }} />
        <span class="limit" style={{ left: `${LIMIT_AT * 100}%` }} />
      </span>
      <span class="number">
        {words}
        {over && ', over'}
      </span>
      {onShow !== null && (
        <button type="button" class="plain" onClick={() => onShow({ frame, at })}>
          {frame === null ? `${at.toFixed(3)} s` : `frame ${frame}`}
        </button>
      )}
    </div>
  );
}
