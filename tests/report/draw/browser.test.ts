// Drawings in real Chromium: what is written stands in its box, and no two labels or boxes lie on each other.
import { chromium, type Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { drawMachine } from '../../../src/report/draw/machine.ts';
import { drawSequence } from '../../../src/report/draw/sequence.ts';
import { PathRecorder } from '../../../src/report/draw/trace-path.ts';
import { toolSkipped } from '../../support/tools.ts';
import { bundled, replayed, sequenceOf, small } from './drawings.ts';

/** Runs in the page: pairs that overlap, and words outside the frame they belong to. */
const TROUBLES = `(() => {
  const box = (one) => { const { x, y, width, height } = one.getBBox(); return { x, y, width, height }; };
  const name = (one) => one.parentNode.dataset.state ?? one.parentNode.textContent;
  const labels = [...document.querySelectorAll('.words > .plate')];
  const leaves = [...document.querySelectorAll('.state > rect:last-of-type')].filter((one) => !one.classList.contains('open'));
  const all = [...labels, ...leaves];
  const found = [];
  for (const [index, one] of all.entries()) for (const other of all.slice(index + 1)) {
    const a = box(one), b = box(other);
    if (a.x + a.width > b.x + 0.5 && b.x + b.width > a.x + 0.5 && a.y + a.height > b.y + 0.5 && b.y + b.height > a.y + 0.5)
      found.push(name(one) + ' lies on ' + name(other));
  }
  for (const frame of [...labels, ...leaves, ...document.querySelectorAll('.finding, .seen')]) {
    const own = box(frame);
    for (const text of frame.parentNode.querySelectorAll('text:not(.note[text-anchor=end])')) {
      const { x, y, width, height } = text.getBBox();
      if (x < own.x - 1 || x + width > own.x + own.width + 1 || y < own.y - 1 || y + height > own.y + own.height + 3)
        found.push(text.textContent + ' leaves its frame');
    }
  }
  const whole = document.querySelector('svg').viewBox.baseVal;
  for (const text of document.querySelectorAll('text')) {
    const at = text.getBoundingClientRect();
    if (at.left < 0 || at.right > whole.width) found.push(text.textContent + ' is cut off');
  }
  return found;
})()`;

function label(x: number, words: string): string {
  const plate = `<rect class="plate" x="${x}" y="0" width="40" height="20"/>`;
  return `<g class="words">${plate}<text x="${x}" y="14" font-size="12">${words}</text></g>`;
}

describe.skipIf(toolSkipped('chromium', 'overlaps in drawings'))('in a browser', () => {
  let browser: Browser;
  beforeAll(async () => {
    browser = await chromium.launch({
      executablePath: '/usr/bin/chromium',
      args: ['--no-sandbox'],
    });
  });
  afterAll(() => browser.close());

  async function troubles(svg: string): Promise<string[]> {
    const page = await browser.newPage();
    await page.setContent(`<body style="margin:0">${svg}</body>`);
    const found = await page.evaluate<string[]>(TROUBLES);
    await page.close();
    return found;
  }

  async function expectTidy(svg: string): Promise<void> {
    expect(await troubles(svg)).toEqual([]);
  }

  it('what is untidy is found', async () => {
    const drawing = `${label(0, 'one')}${label(30, 'two')}${label(80, 'longer than it')}`;
    const svg = `<svg width="130" height="40" viewBox="0 0 130 40">${drawing}</svg>`;
    expect(await troubles(svg)).toEqual([
      'one lies on two',
      'longer than it leaves its frame',
      'longer than it is cut off',
    ]);
  });

  it('the small machine is tidy', async () => {
    const machine = await small();
    await expectTidy(await drawMachine(machine));
    const recorder = new PathRecorder(machine, null);
    await replayed('traces/field/din-clean.pcapng', recorder);
    await expectTidy(await drawMachine(machine, recorder.overlay('a recording')));
  });

  it('the bundled machines are tidy, at a glance and in part', async () => {
    for (const [, machine] of await bundled()) {
      await expectTidy(await drawMachine(machine));
      await expectTidy(await drawMachine(machine, null, { only: 'transfer' }));
    }
  });

  it('sequences are tidy', async () => {
    for (const one of ['field/din-closes-46v-apart.pcapng', 'demo/contactor-weld.jsonl']) {
      await expectTidy(drawSequence(await sequenceOf(`traces/${one}`)));
    }
  });
});
