// The intermediate form of a finite model: plain data that the search turns into typed-array code (`explore`) and that
// can be written out for an outside model checker (`promela.ts`). What stands here has one meaning for both.

/** A state variable with the values 0 … size − 1. */
export interface Variable {
  readonly name: string;
  readonly size: number;
  readonly initial: number;
  /** Words for the values, for printing. */
  readonly names?: readonly string[];
}

/** Constant integers, row-major: the last index runs fastest. */
export interface Table {
  readonly name: string;
  readonly dimensions: readonly number[];
  readonly values: Int32Array;
}

export type Arithmetic = '+' | '-' | '*' | 'min' | 'max';
export type Comparison = '==' | '!=' | '<' | '<=' | '>' | '>=';

/** An integer expression. Truth is 1 and 0; any value but 0 counts as true. */
export type Expr =
  | { readonly kind: 'constant'; readonly value: number }
  | { readonly kind: 'variable'; readonly name: string }
  /** The value a command chose. */
  | { readonly kind: 'choice'; readonly name: string }
  | { readonly kind: 'lookup'; readonly table: string; readonly indices: readonly Expr[] }
  | {
      readonly kind: 'binary';
      readonly operator: Arithmetic | Comparison;
      readonly left: Expr;
      readonly right: Expr;
    }
  | { readonly kind: 'and' | 'or'; readonly of: readonly Expr[] }
  | { readonly kind: 'not'; readonly of: Expr }
  | { readonly kind: 'if'; readonly test: Expr; readonly whenTrue: Expr; readonly whenFalse: Expr };

/** A value picked freely out of 0 … size − 1; a size that is 0 in a state makes the command impossible there. */
export interface Choice {
  readonly name: string;
  /** May read variables and choices that stand before it in the command. */
  readonly size: Expr;
}

export interface Update {
  readonly variable: string;
  readonly value: Expr;
}

/** Something a step shows when it is printed; evaluated before the step. */
export interface Label {
  readonly name: string;
  readonly value: Expr;
  readonly names?: readonly string[];
}

/** Places that steps may mark as seen: what a search has covered. Marks are no part of the state. */
export interface NoteSet {
  readonly name: string;
  readonly size: number;
}

/** A step marks one place of a set; what it reads is the state before the step. */
export interface Note {
  readonly set: string;
  readonly at: Expr;
  /** Only where this holds. Where `at` is a constant it is tried until the place is marked. */
  readonly when?: Expr;
}

/**
 * One atomic step: where the guard holds it may happen, once for each way to choose; every update reads the old state.
 * A value outside its variable, or an index outside its table, is an error of the model and stops the search. The parts
 * of a guard joined by `and` may be tried in any order, but what can go wrong is tried last.
 */
export interface Command {
  readonly name: string;
  readonly choices: readonly Choice[];
  readonly guard: Expr;
  readonly updates: readonly Update[];
  readonly labels: readonly Label[];
  readonly notes?: readonly Note[];
}

/** What must be true in every reachable state. */
export interface Invariant {
  readonly name: string;
  readonly holds: Expr;
}

export interface Model {
  readonly name: string;
  readonly variables: readonly Variable[];
  readonly tables: readonly Table[];
  readonly commands: readonly Command[];
  readonly invariants: readonly Invariant[];
  readonly notes?: readonly NoteSet[];
  /** Where having no next step is all right. Without it deadlocks are not looked for. */
  readonly mayEnd?: Expr;
}

/** A state: the value of each variable, in the model's order. */
export type State = readonly number[];

/** A model that means nothing, or that left its own ranges while it ran. */
export class ModelError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'ModelError';
  }
}
