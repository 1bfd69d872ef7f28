// The outcome of an exhaustive search: rule by rule, and for each that breaks a shortest way there.
import type { ProveResult, RuleProof } from '../../search/prove/prove-result.ts';
import { seconds, sentence } from '../figures.ts';
import { VerdictWord } from './marks.tsx';

export function ProofView({ proof }: { proof: ProveResult }) {
  const { rules, states, transitions, depth, assumes } = proof;
  return (
    <>
      <section class="sheet" aria-labelledby="proof">
        <h2 id="proof">Every sequence of {proof.protocol}</h2>
        <p>
          {states.toLocaleString('en')} states, {transitions.toLocaleString('en')} transitions, the
          furthest {depth} steps from the start, in {seconds(proof.seconds)}.
        </p>
        <table class="rules">
          <thead>
            <tr>
              <th scope="col">rule</th>
              <th scope="col">verdict</th>
              <th scope="col">why</th>
            </tr>
          </thead>
          <tbody>
            {rules.map(({ rule, verdict, reason }) => (
              <tr key={rule}>
                <th scope="row">{rule}</th>
                <td>
                  <VerdictWord verdict={verdict} />
                </td>
                <td>{sentence(reason)}</td>
              </tr>
            ))}
          </tbody>
        </table>
        <details>
          <summary>What it assumes</summary>
          <ul>
            {assumes.map((one) => (
              <li key={one}>{sentence(one)}</li>
            ))}
          </ul>
        </details>
      </section>
      {rules.map((rule) => rule.counterexample !== null && <Steps key={rule.rule} rule={rule} />)}
    </>
  );
}

/** The name of a machine's choice is for its author; a reader has the message it led to. */
const CHOICE = /^(?:vehicle|charger): (?:choose|sense)\./;

/** A counterexample, step by step. */
function Steps({ rule: { rule, counterexample } }: { rule: RuleProof }) {
  const { steps, length } = counterexample!;
  return (
    <section class="sheet" aria-label={`How ${rule} breaks`}>
      <h2>How {rule} breaks</h2>
      <p>
        {length} steps; no shorter way leads there.
        {steps.length < length &&
          ` ${steps.length} of them are told, in the others only time passes.`}
      </p>
      <ol class="steps">
        {steps.map((step, index) => (
          <li key={index} class={step.from === null ? 'own' : `from-${step.from}`}>
            <span class="step-time number">{step.at_s.toFixed(2)} s</span>
            <div>
              <p>
                {step.from !== null && <span class={`of-${step.from}`}>{step.from} </span>}
                <strong>{step.message ?? step.what}</strong>
              </p>
              {step.message !== null && !CHOICE.test(step.what) && <p class="quiet">{step.what}</p>}
              {step.changes.length > 0 && (
                <ul class="changes">
                  {step.changes.map(({ what, to }) => (
                    <li key={what}>
                      {what} → <strong>{to}</strong>
                    </li>
                  ))}
                </ul>
              )}
            </div>
          </li>
        ))}
      </ol>
    </section>
  );
}
