// The report in real Chromium: it opens, chart and sequence are linked, by pointer and by keyboard, on wide and narrow
// screens, in light and dark.
import type { Page } from 'playwright-core';
import { afterAll, afterEach, describe, expect, it } from 'vitest';
import { toolSkipped } from '../../support/tools.ts';
import { FIELD, Pages, replayed } from './browser.ts';

const BROKEN = `${FIELD}/din-closes-46v-apart.pcapng`;

describe.skipIf(toolSkipped('chromium', 'the HTML report in a browser'))('the report', () => {
  const pages = new Pages();
  afterEach(() => {
    expect(pages.troubles).toEqual([]);
  });
  afterAll(() => pages.close());

  it('says the verdict first, in one sentence', async () => {
    const page = await pages.open(await replayed(BROKEN));
    expect(await page.title()).toBe(`${BROKEN} · handfast report`);
    const verdict = await page.locator('.verdict').innerText();
    expect(verdict).toMatch(
      /^broken: the vehicle broke gate-before-close at frame 63 \(8\.616 s\)/,
    );
    expect(await page.locator('.finding h3').allInnerTexts()).toEqual(['gate-before-close']);
    expect(await page.locator('.rules tbody tr').count()).toBe(16);
    const gate = page.locator('.rules tr', { hasText: 'gate-before-close' });
    expect(await gate.innerText()).toContain('46 of 20 V, over');
    expect(await gate.innerText()).toContain('broken by vehicle');
    expect(await page.locator('section', { hasText: 'Not observed' }).last().innerText()).toContain(
      'needs a pilot log',
    );
  });

  it('moves chart and sequence to a finding', async () => {
    const page = await pages.open(await replayed(BROKEN));
    await page.click('.finding .go');
    const current = page.locator('.line.current .line-head');
    expect(await current.innerText()).toContain('PowerDeliveryReq');
    expect(await page.locator('.detail').innerText()).toContain('ReadyToChargeState');
    expect(await page.locator('.readout').innerText()).toContain('frame 63');
    expect(await page.locator('.chosen-line').count()).toBe(1);
    const asked = page.locator('.labels li', { hasText: 'vehicle asks' }).first();
    expect(await asked.innerText()).toContain('352 V');
  });

  it('leads from the chart to the message, and from the message to the chart', async () => {
    const page = await pages.open(await replayed(BROKEN));
    const box = await chartBox(page);
    await page.mouse.click(box.x + box.width / 2, box.y + 60);
    const clicked = Number(await currentFrame(page));
    expect(clicked).toBeGreaterThan(40);
    expect(await page.locator('.readout').innerText()).toContain('s: after');
    await page.locator('.line.current + .line .line-head, .line .line-head').first().click();
    const frame = await currentFrame(page);
    await page.mouse.move(5, 5);
    expect(await page.locator('.readout').innerText()).toContain(`frame ${frame},`);
  });

  it('zooms by dragging and by wheel, pans, and shows everything again', async () => {
    const page = await pages.open(await replayed(BROKEN));
    const everything = await shownSpan(page);
    const box = await chartBox(page);
    await page.mouse.move(box.x + box.width * 0.4, box.y + 60);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.6, box.y + 60, { steps: 4 });
    await page.mouse.up();
    const near = await shownSpan(page);
    expect(near.to - near.from).toBeCloseTo((everything.to - everything.from) * 0.2, 1);
    await page.getByRole('button', { name: 'later' }).click();
    const later = await shownSpan(page);
    expect(later.from).toBeGreaterThan(near.from);
    expect(later.to - later.from).toBeCloseTo(near.to - near.from, 3);
    await page.getByRole('button', { name: 'everything' }).click();
    expect(await shownSpan(page)).toEqual(everything);
  });

  it('is moved by keyboard', async () => {
    const page = await pages.open(await replayed(BROKEN));
    await page.locator('.reach').focus();
    await page.keyboard.press('n');
    expect(await page.locator('.readout').innerText()).toContain('frame 63');
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('.readout').innerText()).toContain('frame 64');
    await page.keyboard.press('+');
    await page.keyboard.press('Enter');
    expect(await currentFrame(page)).toBe('64');
    // The focus is in the sequence now.
    await page.keyboard.press('ArrowDown');
    expect(await currentFrame(page)).toBe('65');
    await page.keyboard.press('Escape');
    expect(await page.locator('.line.current').count()).toBe(0);
  });

  it('searches messages, fields and frames', async () => {
    const page = await pages.open(await replayed(BROKEN));
    const search = page.getByLabel('Search the messages');
    await search.fill('frame:63');
    await expect.poll(() => page.locator('.line').count()).toBe(1);
    await search.fill('precharge 306');
    await expect
      .poll(() => page.locator('.line').allInnerTexts())
      .toEqual([expect.stringContaining('306 V')]);
    await search.fill('nothing is like this');
    await expect.poll(() => page.locator('.empty').count()).toBe(1);
    await search.fill('');
    await page.getByRole('checkbox', { name: 'charger' }).uncheck();
    await expect.poll(() => page.locator('.line.of-charger').count()).toBe(0);
    // What a filter hides is shown again when something leads to it.
    await page.getByRole('button', { name: 'PreChargeRes' }).first().click();
    expect(await currentFrame(page)).toBe('60');
  });

  it('shows only what the chart shows where that is asked for', async () => {
    const page = await pages.open(await replayed(BROKEN));
    await page.getByRole('checkbox', { name: 'only what the chart shows' }).check();
    await page.getByRole('checkbox', { name: 'fold repeats' }).uncheck();
    await page.locator('.reach').focus();
    await page.keyboard.press('n');
    for (let times = 0; times < 4; times += 1) await page.keyboard.press('+');
    await expect.poll(() => page.locator('.line').count()).toBeLessThan(12);
    expect(await page.locator('.scroller').innerText()).toContain('PowerDeliveryReq');
  });

  it('copies a message as JSON', async () => {
    const page = await pages.open(await replayed(BROKEN), {
      permissions: ['clipboard-read', 'clipboard-write'],
    });
    await page.click('.finding .go');
    await page.getByRole('button', { name: 'Copy as JSON' }).click();
    const told = JSON.parse(await page.evaluate(() => navigator.clipboard.readText()));
    expect(told).toMatchObject({
      kind: 'message',
      name: 'PowerDeliveryReq',
      from: 'vehicle',
      frame: 63,
      protocol: 'din70121',
      message: { ReadyToChargeState: true },
    });
  });

  it('folds repeats and unfolds them', async () => {
    const page = await pages.open(await replayed(`${FIELD}/din-clean.pcapng`));
    await page.locator('.scroller').evaluate((element) => element.scrollTo(0, 1e6));
    const fold = page.locator('.fold').first();
    expect(await fold.innerText()).toMatch(
      /\d+ more exchanges of CurrentDemandReq in .* s, frames/,
    );
    await fold.locator('button').click();
    await expect.poll(() => page.locator('.fold').count()).toBe(0);
  });

  it('picks one of many sessions', async () => {
    const page = await pages.open(
      await replayed(BROKEN, `${FIELD}/iso2-clean.pcap`, `${FIELD}/din-welded-contactor.pcapng`),
    );
    expect(await page.locator('.banner').innerText()).toContain('2 broke a rule and 1 held');
    await page.locator('.picker').getByRole('button', { name: 'iso2-clean' }).click();
    expect(await page.locator('.verdict').innerText()).toMatch(/^holds/);
    await page.getByLabel('Search the sessions').fill('welded');
    expect(await page.locator('.picker li').count()).toBe(1);
  });

  it('fits wide and narrow screens', async () => {
    const input = await replayed(BROKEN);
    for (const width of [1440, 1024, 390, 320]) {
      const page = await pages.open(input, { viewport: { width, height: 800 } });
      await page.click('.finding .go');
      const beyond = await page.evaluate(
        () => document.documentElement.scrollWidth - document.documentElement.clientWidth,
      );
      expect(beyond, `${width} px`).toBeLessThanOrEqual(0);
      expect((await page.locator('.reach').boundingBox())!.width).toBeGreaterThan(width / 3);
      await page.close();
    }
  });

  it('follows the system between light and dark, and the toggle', async () => {
    const input = await replayed(BROKEN);
    const light = await pages.open(input, { colorScheme: 'light' });
    const dark = await pages.open(input, { colorScheme: 'dark' });
    const [day, night] = [await paper(light), await paper(dark)];
    expect(day).not.toBe(night);
    await light.locator('.theme label', { hasText: 'dark' }).click();
    await expect.poll(() => paper(light)).toBe(night);
    await dark.locator('.theme label', { hasText: 'light' }).click();
    await expect.poll(() => paper(dark)).toBe(day);
  });

  it('prints without what needs a pointer', async () => {
    const page = await pages.open(await replayed(BROKEN));
    await page.emulateMedia({ media: 'print' });
    expect(await page.locator('.filters').isVisible()).toBe(false);
    expect(await page.locator('.finding').isVisible()).toBe(true);
    expect((await page.pdf()).length).toBeGreaterThan(10_000);
  });
});

/** The colour behind everything. */
function paper(page: Page): Promise<string> {
  return page.evaluate(() => getComputedStyle(document.body).backgroundColor);
}

/** Where the chart is on the screen, once it is in sight. */
async function chartBox(page: Page): Promise<{ x: number; y: number; width: number }> {
  await page.locator('#chart').evaluate((element) => element.scrollIntoView());
  return (await page.locator('.reach').boundingBox())!;
}

async function currentFrame(page: Page): Promise<string> {
  return page.locator('.line.current .line-frame').innerText();
}

/** By the words above the chart. */
async function shownSpan(page: Page): Promise<{ from: number; to: number }> {
  await page.mouse.move(5, 5);
  await expect.poll(() => page.locator('.readout').innerText()).toContain('in view');
  const words = await page.locator('.readout').innerText();
  const [, from, to] = /^(-?[\d.]+) s to ([\d.]+) s/.exec(words)!;
  return { from: Number(from), to: Number(to) };
}
