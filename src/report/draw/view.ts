// What of a machine is shown: one part of it, or the whole, down to a depth; what lies deeper stands for itself as one
// box. Transitions between the same two boxes are one arrow. Some ways would only make a thicket: to a state that nearly
// everything leads to, out of the part shown, from a box into itself or around itself. They stand in the box in words.
import { InputError } from '../../trace/input-error.ts';
import type { Outline, OutlineState, OutlineWay } from './outline.ts';

export interface ViewOptions {
  /** Path of the state to show with what is in it; the whole machine where it is absent. */
  only?: string;
  /** Levels of states below the one shown; what is deeper is folded up. */
  depth?: number;
}

export interface ShownState {
  readonly state: OutlineState;
  readonly children: ShownState[];
  /** Its children are folded up in it. */
  readonly folded: boolean;
  /** How many states are in it, at any depth. */
  readonly inside: number;
  /** Transitions among what is folded up in it. */
  readonly within: OutlineWay[];
  /** Ways told in words, by where they lead. */
  readonly notes: Note[];
  /** From how many boxes ways lead here that are told there in words. */
  gathers: number;
}

/** Ways told in words in their box. */
export interface Note {
  /** Path of the target; null: it stays where it is. */
  readonly to: string | null;
  readonly ways: OutlineWay[];
}

/** An arrow. */
export interface Arrow {
  readonly from: string;
  readonly to: string;
  readonly ways: OutlineWay[];
}

export interface View {
  readonly top: ShownState;
  readonly shown: ReadonlyMap<string, ShownState>;
  readonly arrows: readonly Arrow[];
  /** Ways from outside the part shown, by where they come from. */
  readonly incoming: readonly Note[];
  /** Ways of the states around the part shown: they may be taken anywhere in it. */
  readonly around: readonly Note[];
}

/** A state that more boxes than this lead to gathers its arrows: each of those boxes names it in words. */
const ARROWS_INTO_ONE = 4;

/** Throws an InputError when there is no such state. */
export function viewOf(outline: Outline, { only = '', depth = Infinity }: ViewOptions): View {
  const root = outline.states.get(only);
  if (root === undefined) throw unknownState(outline, only);
  const shown = new Map<string, ShownState>();
  const top = show(outline, root, depth, shown);
  const lift = lifter(outline, shown);
  const pairs = new Map<string, Arrow>();
  const incoming = new Map<string | null, OutlineWay[]>();
  const around = new Map<string | null, OutlineWay[]>();
  for (const way of outline.ways) {
    if (way.when === 'never') continue;
    const from = lift(way.from);
    const to = way.to === null ? null : lift(way.to);
    if (from === null) {
      if (encloses(outline, way.from, only)) add(around, way.to, way);
      else if (to !== null) add(incoming, way.from, way);
    } else if (way.from !== from && (to === from || way.to === null)) {
      shown.get(from)!.within.push(way);
    } else if (to === null || inWords(outline, from, to)) {
      tell(shown.get(from)!, to ?? way.to, way);
    } else {
      const key = `${from}\n${to}`;
      const arrow = pairs.get(key) ?? { from, to, ways: [] };
      arrow.ways.push(way);
      pairs.set(key, arrow);
    }
  }
  const arrows = gather([...pairs.values()], shown);
  return { top, shown, arrows, incoming: notesOf(incoming), around: notesOf(around) };
}

function show(
  outline: Outline,
  state: OutlineState,
  depth: number,
  shown: Map<string, ShownState>,
): ShownState {
  const open = depth > 0 && state.children.length > 0;
  const one: ShownState = {
    state,
    children: [],
    folded: !open && state.children.length > 0,
    inside: countInside(outline, state),
    within: [],
    notes: [],
    gathers: 0,
  };
  shown.set(state.path, one);
  if (open) {
    for (const path of state.children) {
      one.children.push(show(outline, outline.states.get(path)!, depth - 1, shown));
    }
  }
  return one;
}

function countInside(outline: Outline, { children }: OutlineState): number {
  return children.reduce(
    (sum, path) => sum + 1 + countInside(outline, outline.states.get(path)!),
    0,
  );
}

/** The box a state is drawn in: itself, or what it is folded up in; null outside the part shown. */
function lifter(
  outline: Outline,
  shown: ReadonlyMap<string, ShownState>,
): (path: string) => string | null {
  return (path) => {
    for (let at: string | null = path; at !== null; at = outline.states.get(at)!.parent) {
      const box = shown.get(at);
      // An ancestor that is open would have shown the state itself.
      if (box !== undefined) return at === path || box.folded ? at : null;
    }
    return null;
  };
}

/** A box into itself, or between a box and one around it. */
function inWords(outline: Outline, from: string, to: string): boolean {
  return from === to || encloses(outline, from, to) || encloses(outline, to, from);
}

function encloses(outline: Outline, outer: string, inner: string): boolean {
  let at: string | null = outline.states.get(inner)!.parent;
  while (at !== null && at !== outer) at = outline.states.get(at)!.parent;
  return at !== null;
}

function tell(box: ShownState, to: string | null, way: OutlineWay): void {
  const known = box.notes.find((note) => note.to === to);
  if (known === undefined) box.notes.push({ to, ways: [way] });
  else known.ways.push(way);
}

/** Takes the arrows to states that nearly everything leads to back into words. */
function gather(arrows: Arrow[], shown: ReadonlyMap<string, ShownState>): Arrow[] {
  const into = new Map<string, number>();
  for (const { to } of arrows) into.set(to, (into.get(to) ?? 0) + 1);
  return arrows.filter(({ from, to, ways }) => {
    if (into.get(to)! <= ARROWS_INTO_ONE) return true;
    shown.get(to)!.gathers += 1;
    for (const way of ways) tell(shown.get(from)!, to, way);
    return false;
  });
}

function add(notes: Map<string | null, OutlineWay[]>, key: string | null, way: OutlineWay): void {
  const known = notes.get(key);
  if (known === undefined) notes.set(key, [way]);
  else known.push(way);
}

function notesOf(notes: ReadonlyMap<string | null, OutlineWay[]>): Note[] {
  return [...notes].map(([to, ways]) => ({ to, ways }));
}

function unknownState({ states, name }: Outline, only: string): InputError {
  const end = only.split('.').at(-1)!;
  const alike = [...states.keys()].filter((path) => path.split('.').at(-1) === end);
  const some = (alike.length > 0 ? alike : states.get('')!.children).slice(0, 8);
  const what = `machine ${name} has no state ${only.slice(0, 200)}`;
  return new InputError(what, {}, `there are ${some.join(', ')}`);
}
