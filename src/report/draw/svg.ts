// SVG by hand: elements whose attributes and texts are escaped, so that a name from a recording is never more than text.
import { plain } from '../plain.ts';

export type Attributes = Readonly<Record<string, string | number | undefined>>;

/** Already SVG; only `element` and `text` make it. */
export interface Svg {
  readonly svg: string;
}

export function element(name: string, attributes: Attributes, ...inner: readonly Svg[]): Svg {
  const own = Object.entries(attributes)
    .filter(([, value]) => value !== undefined)
    .map(
      ([key, value]) => ` ${key}="${typeof value === 'number' ? figure(value) : escape(value!)}"`,
    )
    .join('');
  const content = inner.map(({ svg }) => svg).join('');
  return { svg: content === '' ? `<${name}${own}/>` : `<${name}${own}>${content}</${name}>` };
}

/** Characters between tags. */
export function text(content: string): Svg {
  return { svg: escape(content) };
}

/** A rule set of our own making; nothing foreign ever goes in. */
export function style(css: string): Svg {
  return { svg: `<style>${css}</style>` };
}

const ENTITIES: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

function escape(content: string): string {
  // Two characters that XML 1.0 does not know at all, beside those that no text may hold.
  return plain(content)
    .replace(/[\ufffe\uffff]/g, '\ufffd')
    .replace(/[&<>"']/g, (one) => ENTITIES[one]!);
}

/** At most two decimals: the same drawing has the same bytes everywhere. */
function figure(value: number): string {
  return String(Math.round(value * 100) / 100);
}
