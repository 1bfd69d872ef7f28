// Facts of messages picked by one number: mixed radix, so that a smaller number differs in fewer facts from none.
import { FACT_VALUES, factsOf, type FactName } from '../../protocols/system-c/event.ts';

export function picked(facts: readonly FactName[], pick: number): Record<string, string> {
  const found: Record<string, string> = {};
  let rest = pick;
  for (const fact of facts) {
    const values = FACT_VALUES[fact];
    found[fact] = values[rest % values.length]!;
    rest = Math.floor(rest / values.length);
  }
  return found;
}

/** What a message may say of itself where its machine leaves it open: not its session, and not that it failed. */
export function openFacts(message: string): FactName[] {
  return factsOf(message).filter((fact) => fact !== 'code' && fact !== 'session');
}
