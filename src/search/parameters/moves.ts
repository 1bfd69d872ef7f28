// Which parameters differ, by name, and by how much.
import type { ParameterSet } from './parameter-file.ts';

export interface Move {
  /** `vehicle.limits.current_A` */
  readonly name: string;
  /** Null for a parameter that is not there. */
  readonly before: number | string | null;
  readonly after: number | string | null;
  /** `+60 A (+24 %)`; empty where it is no amount. */
  readonly by: string;
}

export function movesBetween(before: ParameterSet, after: ParameterSet): Move[] {
  const [old, now] = [leavesOf(before), leavesOf(after)];
  const moves: Move[] = [];
  for (const name of new Set([...old.keys(), ...now.keys()])) {
    const [was, is] = [old.get(name) ?? null, now.get(name) ?? null];
    if (was !== is) moves.push({ name, before: was, after: is, by: byWords(name, was, is) });
  }
  return moves;
}

function leavesOf(value: object, path = ''): Map<string, number | string> {
  const leaves = new Map<string, number | string>();
  for (const [key, inner] of Object.entries(value) as [string, unknown][]) {
    const name = path === '' ? key : `${path}.${key}`;
    if (typeof inner === 'number' || typeof inner === 'string') leaves.set(name, inner);
    else if (typeof inner === 'object' && inner !== null) {
      for (const [below, leaf] of leavesOf(inner, name)) leaves.set(below, leaf);
    }
  }
  return leaves;
}

const signed = (value: number): string => `${value > 0 ? '+' : ''}${Number(value.toPrecision(3))}`;

function byWords(
  name: string,
  before: number | string | null,
  after: number | string | null,
): string {
  if (typeof before !== 'number' || typeof after !== 'number') return '';
  const share = before === 0 ? '' : ` (${signed(((after - before) / before) * 100)} %)`;
  return `${signed(after - before)}${unitOf(name)}${share}`;
}

/** Parameters carry their unit after the last underscore. */
function unitOf(name: string): string {
  const unit = /_([A-Za-z]+)$/.exec(name)?.[1];
  if (unit === undefined) return '';
  return ` ${{ percent: '%', ohm: 'Ω', C: '°C' }[unit] ?? unit}`;
}
