// A set of valuations in words: boxes, each a list of values for some facts; together they hold the set exactly and no
// two of them overlap.
import type { EventKind } from './table-inputs.ts';

/** The values each fact named may have; a fact not named may have any. */
export type Box = { readonly [fact: string]: readonly string[] };

/** The valuations of an event whose class is in the set. */
export function boxesOf({ facts, classes }: EventKind, has: (kind: number) => boolean): Box[] {
  let boxes: number[][][] = [];
  for (let place = 0; place < classes.length; place++) {
    if (has(classes[place]!)) boxes.push(digits(place, facts).map((digit) => [digit]));
  }
  // Boxes that differ in one fact only are one; from the last fact, which varies fastest.
  for (let i = facts.length - 1; i >= 0; i--) boxes = joined(boxes, i);
  return boxes.map((box) => toWords(box, facts));
}

function digits(place: number, facts: EventKind['facts']): number[] {
  const found: number[] = [];
  for (let i = facts.length - 1; i >= 0; i--) {
    const { length } = facts[i]!.groups;
    found.unshift(place % length);
    place = Math.floor(place / length);
  }
  return found;
}

function joined(boxes: readonly number[][][], fact: number): number[][][] {
  const byRest = new Map<string, number[][]>();
  for (const box of boxes) {
    const rest = box.map((values, i) => (i === fact ? '' : values.join())).join('|');
    const known = byRest.get(rest);
    if (known === undefined) byRest.set(rest, [...box]);
    else known[fact] = [...known[fact]!, ...box[fact]!].sort((a, b) => a - b);
  }
  return [...byRest.values()];
}

function toWords(box: readonly number[][], facts: EventKind['facts']): Box {
  const words: Record<string, readonly string[]> = {};
  facts.forEach(({ fact, groups }, i) => {
    const chosen = box[i]!;
    if (chosen.length < groups.length) words[fact] = chosen.flatMap((index) => groups[index]!);
  });
  return words;
}
