// A recorded timeline as it is written into a report: columns packed, identifiers under other names.
import type { Json } from '../../trace/observation.ts';
import type { Pseudonyms } from '../pseudonyms.ts';
import { pack, type Packed } from './pack.ts';
import { leafPaths } from './shapes.ts';
import type { PackedTimeline, ShapeHead, StateSet, Timeline } from './timeline.ts';

export function packTimeline(timeline: Timeline, pseudonyms: Pseudonyms): PackedTimeline {
  const { at_ns, frames, shapes, heads, columns, series, lanes } = timeline;
  const tick_ns = at_ns.every((at) => at % 1000 === 0) ? 1000 : 1;
  return {
    tick_ns,
    at: pack(at_ns.map((at) => at / tick_ns)),
    frames: pack(frames),
    shapes: pack(shapes),
    heads: heads.map((head) => namedHead(head, pseudonyms)),
    columns: heads.map(({ tree }, shape) => {
      const paths = leafPaths(tree);
      return columns[shape]!.map((values, leaf) => packLeaves(values, paths[leaf]!, pseudonyms));
    }),
    series: packSeries(series),
    lanes,
    states: pack(timeline.states),
    stateSets: timeline.stateSets.map((set): StateSet => pseudonyms.deep(set)),
    foreign: timeline.foreign,
    omitted: timeline.omitted,
  };
}

/** Equal values stand one after another mostly: each is treated once. */
function packLeaves(
  values: readonly Json[],
  path: readonly string[],
  pseudonyms: Pseudonyms,
): Packed {
  const named = new Map<Json, Json>();
  return pack(
    values.map((value) => {
      if (typeof value === 'number') return pseudonyms.leaf(path, value);
      let name = named.get(value);
      if (name === undefined) named.set(value, (name = pseudonyms.leaf(path, value)));
      return name;
    }),
  );
}

function namedHead(head: ShapeHead, pseudonyms: Pseudonyms): ShapeHead {
  const { sender, receiver } = head;
  return {
    ...head,
    ...(sender === undefined ? {} : { sender: pseudonyms.name('address', sender) }),
    ...(receiver === undefined ? {} : { receiver: pseudonyms.name('address', receiver) }),
  };
}

function packSeries(series: Timeline['series']): PackedTimeline['series'] {
  return Object.fromEntries(
    Object.entries(series).map(([name, { rows, values }]) => [
      name,
      { rows: pack(rows), values: pack(values) },
    ]),
  );
}
