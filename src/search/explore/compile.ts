// What all generated functions share: their frame, and the decoding of states into locals.
import type { Model } from '../model/form.ts';
import type { Layout } from './layout.ts';

/** Thrown by generated code where a value or an index leaves its range; the interpreter then tells which. */
export const OUTSIDE = Symbol('outside its range');

/** A function of generated source, which can see the model's tables as `t0`, `t1`, … and `maps` by name. */
export function compile<F>(
  model: Model,
  parameters: string,
  body: string,
  maps: ReadonlyMap<string, Int32Array | Uint8Array> = new Map(),
): F {
  const tables = [...model.tables.map((_, i) => `t${i}`), ...maps.keys()];
  const source = `'use strict';
    ${COUNT_BITS}
    function inside(at, size) { if (at >>> 0 >= size) throw OUTSIDE; return at; }
    return function (${parameters}) { ${body} };`;
  const make = new Function('OUTSIDE', ...tables, source) as (...given: unknown[]) => F;
  return make(OUTSIDE, ...model.tables.map(({ values }) => values), ...maps.values());
}

/** The usual sums of bits in parallel (Warren, Hacker's Delight, 5-1). */
export const COUNT_BITS = `function countBits(bits) {
  bits = bits - (bits >>> 1 & 0x55555555) | 0;
  bits = (bits & 0x33333333) + (bits >>> 2 & 0x33333333) | 0;
  return Math.imul(bits + (bits >>> 4) & 0x0f0f0f0f, 0x01010101) >>> 24;
}`;

/** Locals `w0` … for the key of log entry `i`, `v0` … for its variables. */
export function decodeKey(layout: Layout): string {
  const lines = [`const at = Math.imul(log[2 * i], ${layout.words + 2});`];
  for (let word = 0; word < layout.words; word++) {
    lines.push(`const w${word} = rows[at + ${word}];`);
  }
  for (const [i, { inner, word, shift, bits }] of layout.fields.entries()) {
    if (inner) continue;
    lines.push(`const v${i} = ${bits === 0 ? '0' : `w${word} >>> ${shift} & ${2 ** bits - 1}`};`);
  }
  return lines.join('\n');
}

/** Locals for the inner variables of combination `e`. */
export function decodeInner(layout: Layout): string {
  return layout.fields
    .flatMap(({ inner, shift, bits }, i) =>
      inner ? [`const v${i} = ${bits === 0 ? '0' : `e >>> ${shift} & ${2 ** bits - 1}`};`] : [],
    )
    .join(' ');
}
