// The same model without clocks: a timer that runs may run out at any moment, and no deadline of a rule ever passes. It has
// every sequence of the model with clocks and more, so what holds here, deadlines apart, holds there.
import type { Model } from '../model/form.ts';
import { TICK } from './steps.ts';

export const UNTIMED =
  'no clocks: any timer that runs may run out at any time, and no deadline is judged';

const isClock = (variable: string): boolean => /^(vehicle|charger)_clock_\d+$/.test(variable);

/** Every clock stands at 0, where its timer may run out. */
export function untimed(model: Model): Model {
  return {
    ...model,
    name: `${model.name}, untimed`,
    variables: model.variables.map((variable) =>
      isClock(variable.name) ? { ...variable, size: 1, initial: 0 } : variable,
    ),
    commands: model.commands
      .filter(({ name }) => name !== TICK)
      .map((command) => ({
        ...command,
        updates: command.updates.filter(({ variable }) => !isClock(variable)),
      })),
  };
}
