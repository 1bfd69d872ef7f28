// Writes models so that they read well: `state.is('idle')`, `count.to(count.plus(1))`, `successors.at(state, event)`.
import { checkModel } from './check.ts';
import { ModelError } from './form.ts';
import type {
  Arithmetic,
  Command,
  Comparison,
  Expr,
  Invariant,
  Label,
  Model,
  Note,
  NoteSet,
  Table,
  Update,
  Variable,
} from './form.ts';

export type Operand = Term | number | boolean;

/** An expression under construction. */
export class Term {
  readonly expr: Expr;

  constructor(expr: Expr) {
    this.expr = expr;
  }

  plus(other: Operand): Term {
    return this.#with('+', other);
  }
  minus(other: Operand): Term {
    return this.#with('-', other);
  }
  times(other: Operand): Term {
    return this.#with('*', other);
  }
  min(other: Operand): Term {
    return this.#with('min', other);
  }
  max(other: Operand): Term {
    return this.#with('max', other);
  }
  eq(other: Operand): Term {
    return this.#with('==', other);
  }
  ne(other: Operand): Term {
    return this.#with('!=', other);
  }
  lt(other: Operand): Term {
    return this.#with('<', other);
  }
  le(other: Operand): Term {
    return this.#with('<=', other);
  }
  gt(other: Operand): Term {
    return this.#with('>', other);
  }
  ge(other: Operand): Term {
    return this.#with('>=', other);
  }
  and(...others: Operand[]): Term {
    return and(this, ...others);
  }
  or(...others: Operand[]): Term {
    return or(this, ...others);
  }
  not(): Term {
    return new Term({ kind: 'not', of: this.expr });
  }

  #with(operator: Arithmetic | Comparison, other: Operand): Term {
    return new Term({ kind: 'binary', operator, left: this.expr, right: exprOf(other) });
  }
}

/** A variable; `Word` are the names of its values, if it has any. */
export class VariableTerm<Word extends string = never> extends Term {
  readonly variable: Variable;

  constructor(variable: Variable) {
    super({ kind: 'variable', name: variable.name });
    this.variable = variable;
  }

  /** True when the variable has one of these values. */
  is(...words: (Word | number)[]): Term {
    const tests = words.map((word) => this.eq(this.value(word)));
    return tests.length === 1 ? tests[0]! : or(...tests);
  }

  /** The update of this variable. */
  to(value: Operand | Word): Update {
    const operand = typeof value === 'string' ? this.value(value) : value;
    return { variable: this.variable.name, value: exprOf(operand) };
  }

  /** The number of a named value. */
  value(word: Word | number): number {
    if (typeof word === 'number') return word;
    return valueOf(this.variable.name, this.variable.names, word);
  }
}

/** A value that commands choose. */
export class ChoiceTerm extends Term {
  readonly name: string;
  readonly size: Expr;

  constructor(name: string, size: Operand) {
    super({ kind: 'choice', name });
    this.name = name;
    this.size = exprOf(size);
  }
}

/** A constant table. */
export class TableTerm {
  readonly name: string;

  constructor(name: string) {
    this.name = name;
  }

  at(...indices: Operand[]): Term {
    return new Term({ kind: 'lookup', table: this.name, indices: indices.map(exprOf) });
  }
}

export function and(...of: Operand[]): Term {
  return new Term({ kind: 'and', of: of.map(exprOf) });
}

export function or(...of: Operand[]): Term {
  return new Term({ kind: 'or', of: of.map(exprOf) });
}

export function not(of: Operand): Term {
  return new Term({ kind: 'not', of: exprOf(of) });
}

export function constant(value: number | boolean): Term {
  return new Term(exprOf(value));
}

/** `whenTrue` where `test` holds, else `whenFalse`; only the one that counts is evaluated. */
export function ifThen(test: Operand, whenTrue: Operand, whenFalse: Operand): Term {
  return new Term({
    kind: 'if',
    test: exprOf(test),
    whenTrue: exprOf(whenTrue),
    whenFalse: exprOf(whenFalse),
  });
}

export interface CommandParts {
  choose?: readonly ChoiceTerm[];
  guard?: Operand;
  set?: readonly Update[];
  labels?: readonly { name: string; value: Operand; names?: readonly string[] }[];
  notes?: readonly { set: string; at: Operand; when?: Operand }[];
}

/** Collects the parts of a model; `build` checks and returns it. */
export class ModelBuilder {
  readonly #name: string;
  readonly #variables: Variable[] = [];
  readonly #tables: Table[] = [];
  readonly #commands: Command[] = [];
  readonly #invariants: Invariant[] = [];
  readonly #notes: NoteSet[] = [];
  #mayEnd: Expr | undefined;

  constructor(name: string) {
    this.#name = name;
  }

  /** A variable with the values 0 … size − 1. */
  variable(name: string, size: number, initial = 0): VariableTerm {
    const variable = { name, size, initial };
    this.#variables.push(variable);
    return new VariableTerm(variable);
  }

  /** A variable whose values have names; it starts with the first unless said otherwise. */
  words<const Word extends string>(
    name: string,
    names: readonly Word[],
    initial?: NoInfer<Word>,
  ): VariableTerm<Word> {
    const first = initial === undefined ? 0 : valueOf(name, names, initial);
    const variable = { name, size: names.length, initial: first, names };
    this.#variables.push(variable);
    return new VariableTerm<Word>(variable);
  }

  /** A constant table, row-major. */
  table(name: string, dimensions: readonly number[], values: ArrayLike<number>): TableTerm {
    this.#tables.push({ name, dimensions, values: Int32Array.from(values) });
    return new TableTerm(name);
  }

  /** A value out of 0 … size − 1 for commands that list it in `choose`. */
  choice(name: string, size: Operand): ChoiceTerm {
    return new ChoiceTerm(name, size);
  }

  /** Places that the notes of commands may mark. */
  noteSet(name: string, size: number): this {
    this.#notes.push({ name, size });
    return this;
  }

  command(
    name: string,
    { choose = [], guard = true, set = [], labels = [], notes = [] }: CommandParts,
  ): this {
    this.#commands.push({
      name,
      choices: choose.map((choice) => ({ name: choice.name, size: choice.size })),
      guard: exprOf(guard),
      updates: set,
      labels: labels.map((label): Label => ({ ...label, value: exprOf(label.value) })),
      notes: notes.map(noteOf),
    });
    return this;
  }

  invariant(name: string, holds: Operand): this {
    this.#invariants.push({ name, holds: exprOf(holds) });
    return this;
  }

  /** States without a next step are deadlocks, except where this holds. */
  mayEnd(where: Operand): this {
    this.#mayEnd = exprOf(where);
    return this;
  }

  build(): Model {
    const model: Model = {
      name: this.#name,
      variables: this.#variables,
      tables: this.#tables,
      commands: this.#commands,
      invariants: this.#invariants,
      notes: this.#notes,
      ...(this.#mayEnd && { mayEnd: this.#mayEnd }),
    };
    checkModel(model);
    return model;
  }
}

function exprOf(operand: Operand): Expr {
  if (operand instanceof Term) return operand.expr;
  return { kind: 'constant', value: Number(operand) };
}

function noteOf({ set, at, when }: NonNullable<CommandParts['notes']>[number]): Note {
  return { set, at: exprOf(at), ...(when === undefined ? {} : { when: exprOf(when) }) };
}

function valueOf(variable: string, names: readonly string[] | undefined, word: string): number {
  const value = names?.indexOf(word) ?? -1;
  if (value < 0) throw new ModelError(`variable ${variable} has no value named ${word}`);
  return value;
}
