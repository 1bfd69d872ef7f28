// What can no longer matter is brought to one value, so that states which differ only in it are one state.
//
// Once the charger is spent (spent.ts), its output off and no current flowing, no rule reads the consents any more:
// both-consent and stop-means-stop need something live. Once both are spent, the rest of the dialogue's memory goes too;
// only opening (open-cold) and unlocking (cold-unlock) are left, and they read the plant alone.
import { and, ifThen, type Term, type VariableTerm } from '../model/build.ts';
import type { Change } from './change.ts';
import type { System } from './system.ts';

/** Brings to one value what the state after a command no longer needs. */
export function forget(system: System, change: Change): void {
  const { is, spent, spentConsents } = system;
  const charger = and(
    spent.charger.at(change.now(is.charger)),
    change.now(is.output).eq(0),
    change.now(is.current).eq(0),
  );
  const both = and(charger, spent.vehicle.at(change.now(is.vehicle)));
  const settle = (when: Term, variable: VariableTerm<string>, value: number): void => {
    const now = change.now(variable);
    if (now.expr.kind === 'constant' && now.expr.value === value) return;
    change.set(variable, ifThen(when, value, now));
  };
  const consents = change.now(is.consents);
  change.set(is.consents, ifThen(charger, spentConsents.at(consents), consents));
  settle(charger, is.chargerDue, 0);
  settle(charger, is.stopNow, 0);
  for (const variable of [is.askedIn, is.patience, is.noticeDue, is.emergencyDue]) {
    settle(both, variable, 0);
  }
  settle(both, is.asked, is.asked.value('other'));
  settle(both, is.wants, 0);
  settle(both, is.quiet, 0);
}
