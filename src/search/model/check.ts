// Refuses a model that means nothing, before any search.
import type { Command, Expr, Model, NoteSet, Table, Variable } from './form.ts';
import { ModelError } from './form.ts';
import { mayFail, modelScope, rangeOf, withChoices } from './ranges.ts';
import type { Scope } from './ranges.ts';

/** A state must fit a few words, and a choice is tried value by value. */
const MAXIMUM_SIZE = 2 ** 24;
const MAXIMUM_CHOICES = 2 ** 16;

/** Throws a ModelError that names the place when the model is not well formed. */
export function checkModel(model: Model): void {
  unique('variable', model.variables);
  unique('table', model.tables);
  unique('command', model.commands);
  unique('invariant', model.invariants);
  unique('set of notes', model.notes ?? []);
  for (const variable of model.variables) checkVariable(variable);
  for (const table of model.tables) checkTable(table);
  for (const set of model.notes ?? []) checkNoteSet(set);
  const scope = modelScope(model);
  for (const command of model.commands) {
    inPlace(`command ${command.name}`, () => checkCommand(command, model, scope));
  }
  for (const { name, holds } of model.invariants) {
    inPlace(`invariant ${name}`, () => rangeOf(holds, scope));
  }
  if (model.mayEnd) checkExpr(model, 'mayEnd', model.mayEnd);
}

/** Throws a ModelError when an expression over the variables of a checked model is not well formed. */
export function checkExpr(model: Model, what: string, expr: Expr): void {
  inPlace(what, () => rangeOf(expr, modelScope(model)));
}

function checkVariable({ name, size, initial, names }: Variable): void {
  if (!Number.isInteger(size) || size < 1 || size > MAXIMUM_SIZE) {
    throw new ModelError(`variable ${name} has ${size} values, allowed are 1 to ${MAXIMUM_SIZE}`);
  }
  if (!Number.isInteger(initial) || initial < 0 || initial >= size) {
    throw new ModelError(`variable ${name} starts at ${initial}, outside 0 … ${size - 1}`);
  }
  if (names !== undefined && names.length !== size) {
    throw new ModelError(`variable ${name} has ${size} values and ${names.length} names for them`);
  }
}

function checkNoteSet({ name, size }: NoteSet): void {
  if (Number.isInteger(size) && size >= 1 && size <= MAXIMUM_SIZE) return;
  throw new ModelError(`set of notes ${name} has ${size} places, allowed are 1 to ${MAXIMUM_SIZE}`);
}

function checkTable({ name, dimensions, values }: Table): void {
  const cells = dimensions.reduce((product, dimension) => product * dimension, 1);
  if (dimensions.length === 0 || !dimensions.every((d) => Number.isInteger(d) && d > 0)) {
    throw new ModelError(`table ${name} needs dimensions of at least 1`);
  }
  if (cells !== values.length) {
    throw new ModelError(
      `table ${name} is ${dimensions.join(' × ')} and holds ${values.length} values, not ${cells}`,
    );
  }
}

function checkCommand(command: Command, model: Model, outer: Scope): void {
  unique('choice', command.choices);
  const scope = withChoices(outer, command.choices);
  let ways = 1;
  for (const { name } of command.choices) ways *= scope.choices.get(name)!.high + 1;
  if (ways > MAXIMUM_CHOICES) {
    throw new ModelError(`may be chosen in ${ways} ways, allowed are ${MAXIMUM_CHOICES}`);
  }
  for (const { name, size } of command.choices) {
    if (mayFail(size, scope)) throw new ModelError(`the size of ${name} may read outside a table`);
  }
  rangeOf(command.guard, scope);
  const set = new Set<string>();
  for (const { variable, value } of command.updates) {
    const target = model.variables.find(({ name }) => name === variable);
    if (target === undefined) throw new ModelError(`sets unknown variable ${variable}`);
    if (set.has(variable)) throw new ModelError(`sets variable ${variable} twice`);
    set.add(variable);
    const { low, high } = rangeOf(value, scope);
    if (high >= 0 && low < target.size) continue;
    throw new ModelError(`sets ${variable} to ${low} … ${high}, outside 0 … ${target.size - 1}`);
  }
  for (const label of command.labels) rangeOf(label.value, scope);
  for (const { set: name, at, when } of command.notes ?? []) {
    const places = model.notes?.find((notes) => notes.name === name);
    if (places === undefined) throw new ModelError(`notes something in unknown set ${name}`);
    if (when !== undefined) rangeOf(when, scope);
    const { low, high } = rangeOf(at, scope);
    if (low < 0 || high >= places.size) {
      throw new ModelError(`notes ${low} … ${high} in ${name}, outside 0 … ${places.size - 1}`);
    }
  }
}

function unique(kind: string, named: readonly { readonly name: string }[]): void {
  const names = new Set<string>();
  for (const { name } of named) {
    if (names.has(name)) throw new ModelError(`two of one name: ${kind} ${name}`);
    names.add(name);
  }
}

function inPlace(place: string, run: () => void): void {
  try {
    run();
  } catch (error) {
    if (error instanceof ModelError) throw new ModelError(`${place}: ${error.message}`);
    throw error;
  }
}
