import { constant, type Operand, type Term, type VariableTerm } from '../model/build.ts';

/** The value of a variable at some moment. */
export type Value = (variable: VariableTerm<string>) => Term;

/** The new values of variables, as far as a command changes them. */
export class Change {
  readonly #values = new Map<string, { variable: VariableTerm<string>; value: Term }>();

  set<Word extends string>(variable: VariableTerm<Word>, value: Operand | Word): this {
    const operand = typeof value === 'string' ? variable.value(value) : value;
    const term = typeof operand === 'object' ? operand : constant(operand);
    this.#values.set(variable.variable.name, {
      variable: variable as VariableTerm<string>,
      value: term,
    });
    return this;
  }

  /** The value after the command. */
  now: Value = (variable) => this.#values.get(variable.variable.name)?.value ?? variable;

  updates() {
    return [...this.#values.values()].map(({ variable, value }) => variable.to(value));
  }
}
