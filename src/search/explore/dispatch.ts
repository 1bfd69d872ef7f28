// A tree of switches over variables whose values many commands ask for, so that a state meets only the commands that it
// could allow.
import type { Plan } from './plan.ts';

/** Commands to try, and switches that lead to more. */
export interface Branching {
  readonly plans: readonly Plan[];
  readonly switches: readonly Switch[];
}

interface Switch {
  readonly variable: number;
  readonly cases: ReadonlyMap<number, Branching>;
}

/** Fewer commands than this are tried one by one. */
const MINIMUM_SWITCHED = 3;

/** Every plan stands exactly once in the tree; `decided` are the variables switched over on the way. */
export function branch(
  plans: readonly Plan[],
  decided: ReadonlySet<number> = new Set(),
): Branching {
  const variable = mostAsked(plans, decided);
  if (variable === undefined) return { plans, switches: [] };
  const byValue = new Map<number, Plan[]>();
  const others: Plan[] = [];
  for (const plan of plans) {
    const value = onlyValue(plan, variable);
    if (value === undefined) others.push(plan);
    else byValue.set(value, [...(byValue.get(value) ?? []), plan]);
  }
  const below = new Set(decided).add(variable);
  const cases = new Map([...byValue].map(([value, some]) => [value, branch(some, below)]));
  const rest = branch(others, decided);
  return { plans: rest.plans, switches: [{ variable, cases }, ...rest.switches] };
}

function mostAsked(plans: readonly Plan[], decided: ReadonlySet<number>): number | undefined {
  const asked = new Map<number, number>();
  for (const plan of plans) {
    for (const variable of plan.allowed.keys()) {
      if (decided.has(variable) || onlyValue(plan, variable) === undefined) continue;
      asked.set(variable, (asked.get(variable) ?? 0) + 1);
    }
  }
  let best: number | undefined;
  for (const [variable, count] of asked) {
    if (count >= MINIMUM_SWITCHED && count > (asked.get(best ?? -1) ?? 0)) best = variable;
  }
  return best;
}

/** The one value of a variable that a plan allows, if it is one. */
function onlyValue({ allowed }: Plan, variable: number): number | undefined {
  const values = allowed.get(variable);
  const first = values?.indexOf(true);
  return first !== undefined && values!.lastIndexOf(true) === first ? first : undefined;
}
