// An update of parameters alone under judgement: which limit moved, by how much, and what stops it.
import { movesBetween, type Move } from './moves.ts';
import type { ParameterSet } from './parameter-file.ts';
import { stopsOf, type Stop } from './stops.ts';

export interface ParameterComparison {
  readonly schemaVersion: 1;
  readonly kind: 'parameters';
  /**
   * `equivalent`: nothing moved. `safe`: something in the new parameters stops each of the `stops`. `unsafe`: nothing
   * stops one of them. `inconclusive`: a limit it needs is not among them.
   */
  readonly verdict: 'equivalent' | 'safe' | 'unsafe' | 'inconclusive';
  readonly reasons: readonly string[];
  readonly moves: readonly Move[];
  readonly stops: { readonly before: readonly Stop[]; readonly after: readonly Stop[] };
}

export function compareParameters(before: ParameterSet, after: ParameterSet): ParameterComparison {
  const moves = movesBetween(before, after);
  const stops = { before: stopsOf(before), after: stopsOf(after) };
  const open = stops.after.filter(({ by }) => by === null);
  const unsafe = open.filter(({ limit }) => limit !== null);
  const verdict =
    unsafe.length > 0
      ? 'unsafe'
      : open.length > 0
        ? 'inconclusive'
        : moves.length === 0
          ? 'equivalent'
          : 'safe';
  const reasons = (unsafe.length > 0 ? unsafe : open).map(
    ({ what, says }) => `${what}: ${says}; nothing in these parameters stops it`,
  );
  return { schemaVersion: 1, kind: 'parameters', verdict, reasons, moves, stops };
}
