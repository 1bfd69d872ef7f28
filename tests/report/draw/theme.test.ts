// Contrast of every ink on every ground it stands on: WCAG 2.2, relative luminance and contrast ratio as defined there
// (1.4.3: 4.5:1 for words; 1.4.11: 3:1 for lines that mean something).
import { expect, it } from 'vitest';
import { INKS } from '../../../src/report/draw/theme.ts';

function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const share = parseInt(colour.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(one: string, other: string): number {
  const [dark, light] = [luminance(one), luminance(other)].toSorted((a, b) => a - b);
  return (light! + 0.05) / (dark! + 0.05);
}

it('measures as WCAG does', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
  // #767676 on white is the grey that just reaches 4.5 (common practice).
  expect(contrast('#767676', '#ffffff')).toBeCloseTo(4.54, 2);
});

it.each(['light', 'dark'] as const)('has enough contrast in the %s theme', (theme) => {
  const { paper, sheet, lane, ink, quiet, line, vehicle, charger, broken, mark } = INKS[theme];
  for (const ground of [paper, sheet, lane]) {
    for (const word of [ink, quiet]) expect(contrast(word, ground)).toBeGreaterThanOrEqual(4.5);
    expect(contrast(line, ground)).toBeGreaterThanOrEqual(3);
  }
  for (const ground of [paper, sheet]) {
    for (const side of [vehicle, charger])
      expect(contrast(side, ground)).toBeGreaterThanOrEqual(4.5);
  }
  for (const word of [ink, broken]) expect(contrast(word, mark)).toBeGreaterThanOrEqual(4.5);
});
