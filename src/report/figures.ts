// Numbers, times and lists as a reader wants them.
import type { Side } from '../trace/observation.ts';

/** At most three decimals, fewer for large values, no trailing zeros: 17.6, 402, 0.125. */
export function figure(value: number): string {
  const size = Math.abs(value);
  const decimals = size >= 1000 ? 0 : size >= 100 ? 1 : size >= 10 ? 2 : 3;
  const text = value.toFixed(decimals);
  const short = text.includes('.') ? text.replace(/\.?0+$/, '') : text;
  return short === '-0' ? '0' : short;
}

/** Seconds with milliseconds: `9.841 s`. */
export function seconds(value: number): string {
  return `${value.toFixed(3)} s`;
}

/** Seconds relative to a moment, signed: `-0.240 s`, `+1.002 s`; the moment itself is `0.000 s`. */
export function relative(value: number): string {
  const text = value.toFixed(3);
  if (Number(text) === 0) return '0.000 s';
  return `${value > 0 ? '+' : ''}${text} s`;
}

/** `8 Wh`, `12.3 kWh`. */
export function energy(value_Wh: number): string {
  return Math.abs(value_Wh) >= 1000 ? `${figure(value_Wh / 1000)} kWh` : `${figure(value_Wh)} Wh`;
}

export function count(amount: number, noun: string, plural = `${noun}s`): string {
  return `${amount} ${amount === 1 ? noun : plural}`;
}

/** `a`, `a and b`, `a, b and c`. */
export function list(words: string[], last = 'and'): string {
  if (words.length < 2) return words.join('');
  return `${words.slice(0, -1).join(', ')} ${last} ${words.at(-1)}`;
}

/** `the charger`, `the vehicle and the charger`. */
export function sides(owners: Side[]): string {
  return owners.length === 0 ? 'neither side' : list(owners.map((side) => `the ${side}`));
}

/** `frame 123 (9.841 s)`; without a frame `9.841 s`. */
export function moment(frame: number | null, at: number): string {
  return frame === null ? seconds(at) : `frame ${frame} (${seconds(at)})`;
}

/** Upper-case first letter and a full stop. */
export function sentence(text: string): string {
  const trimmed = text.trim();
  if (trimmed === '') return '';
  const end = /[.!?…]$/.test(trimmed) ? '' : '.';
  return `${trimmed[0]!.toUpperCase()}${trimmed.slice(1)}${end}`;
}

/** The text with its first word in lower case where that is an article: to go on after a colon. */
export function continued(text: string): string {
  return text.replace(/^(The|A|An) /, (article) => article.toLowerCase());
}
