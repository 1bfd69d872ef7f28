// The colours of the style sheet, for what is drawn on a canvas.
import type { Stroke } from './panels.ts';

export interface Colours {
  ink: string;
  quiet: string;
  line: string;
  sheet: string;
  vehicle: string;
  charger: string;
  broken: string;
  lane: string;
}

export function coloursOf(element: Element): Colours {
  const style = getComputedStyle(element);
  const of = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of('ink'),
    quiet: of('quiet'),
    line: of('line'),
    sheet: of('sheet'),
    vehicle: of('vehicle'),
    charger: of('charger'),
    broken: of('broken'),
    lane: of('lane'),
  };
}

/** Colour and width of a line. */
export function penOf(stroke: Stroke, colours: Colours): { colour: string; width: number } {
  switch (stroke) {
    case 'vehicle':
      return { colour: colours.vehicle, width: 1.6 };
    case 'charger':
      return { colour: colours.charger, width: 2 };
    case 'measured':
      return { colour: colours.ink, width: 1.2 };
    case 'vehicle limit':
      return { colour: colours.vehicle, width: 1.4 };
    case 'charger limit':
      return { colour: colours.charger, width: 1.4 };
  }
}
