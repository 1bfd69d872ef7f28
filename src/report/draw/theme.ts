// Light and dark: paper and inks, as CSS that says the same in every drawing. Every ink has at least 4.5:1 on both
// papers it stands on, every line that means something 3:1 (WCAG 2.2, 1.4.3 and 1.4.11).

export type Theme = 'light' | 'dark' | 'auto';

interface Inks {
  /** Around the drawing. */
  readonly paper: string;
  /** In a box. */
  readonly sheet: string;
  /** In an open box, which has others in it. */
  readonly lane: string;
  readonly ink: string;
  readonly quiet: string;
  readonly line: string;
  readonly vehicle: string;
  readonly charger: string;
  readonly broken: string;
  readonly mark: string;
}

export const INKS: Readonly<Record<'light' | 'dark', Inks>> = {
  light: {
    paper: '#f3efe6',
    sheet: '#fffdf8',
    lane: '#ebe5d8',
    ink: '#1c2530',
    quiet: '#4d5762',
    line: '#766f5f',
    vehicle: '#0a5a66',
    charger: '#8a4207',
    broken: '#9a0f50',
    mark: '#fbe9c3',
  },
  dark: {
    paper: '#11161c',
    sheet: '#1b232c',
    lane: '#151b22',
    ink: '#e8e4da',
    quiet: '#b0b9c3',
    line: '#8b96a1',
    vehicle: '#70cbd6',
    charger: '#eba96b',
    broken: '#ff8dba',
    mark: '#43381b',
  },
};

const FONTS = `system-ui,-apple-system,'Segoe UI',Roboto,'Noto Sans','DejaVu Sans',sans-serif`;

/** Rules for one drawing, all below its own id. */
export function styleSheet(id: string, theme: Theme): string {
  const fonts = `#${id}{font-family:${FONTS}}`;
  if (theme !== 'auto') return fonts + rules(id, INKS[theme]);
  const dark = rules(id, INKS.dark);
  return `${fonts}${rules(id, INKS.light)}@media (prefers-color-scheme:dark){${dark}}`;
}

function rules(id: string, inks: Inks): string {
  const { paper, sheet, lane, ink, quiet, line, vehicle, charger, broken, mark } = inks;
  const all: [selector: string, css: string][] = [
    ['.paper', `fill:${paper}`],
    ['text', `fill:${ink}`],
    ['.name,.title', 'font-weight:650'],
    ['.says,.note,.tag,.sub', `fill:${quiet}`],
    ['.marked', `fill:${ink};font-weight:650`],
    ['.box', `fill:${sheet};stroke:${line};stroke-width:1.2`],
    ['.open', `fill:${lane}`],
    ['.over text', `paint-order:stroke;stroke:${lane};stroke-width:4px;stroke-linejoin:round`],
    ['.folded', 'stroke-width:1.2'],
    ['.reached', `stroke:${ink};stroke-width:2.6`],
    ['.missed', 'stroke-dasharray:5 4'],
    ['.way', `fill:none;stroke:${line};stroke-width:1.4`],
    ['.taken', `stroke:${ink};stroke-width:2.8`],
    ['.tip', `fill:${line}`],
    ['.tip.on', `fill:${ink}`],
    ['.plate', `fill:${paper};fill-opacity:.9`],
    ['.life', `stroke:${line};stroke-width:1.4;stroke-dasharray:2 4`],
    ['.vehicle', `fill:${vehicle}`],
    ['.charger', `fill:${charger}`],
    ['.from-vehicle', `stroke:${vehicle};stroke-width:1.6;fill:none`],
    ['.from-charger', `stroke:${charger};stroke-width:1.6;fill:none`],
    ['.broken', `fill:${broken}`],
    ['.cross', `stroke:${broken};stroke-width:2.4`],
    ['.finding', `fill:${mark};stroke:${broken};stroke-width:1.4`],
    ['.seen', `fill:${lane};stroke:${line};stroke-width:1`],
    ['.gap', `stroke:${line};stroke-width:1;stroke-dasharray:1 5`],
  ];
  return all
    .map(([selector, css]) => {
      const own = selector
        .split(',')
        .map((one) => `#${id} ${one}`)
        .join();
      return `${own}{${css}}`;
    })
    .join('');
}
