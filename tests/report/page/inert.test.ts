// What a recording says is shown, never run: markup, script ends, comments, characters that turn text around, in every
// place a recording can put them. And axe, which knows WCAG, finds nothing serious.
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { afterAll, describe, expect, it } from 'vitest';
import { html } from '../../../src/report/html.ts';
import type { ReportInput } from '../../../src/report/report-data.ts';
import { toolSkipped } from '../../support/tools.ts';
import { FIELD, Pages, replayed } from './browser.ts';

const HOSTILE = [
  '</script><script>window.harmed = 1</script>',
  '<!--<script>',
  '<img src=x onerror="window.harmed = 1">',
  '"><svg onload="window.harmed = 1">',
  "javascript:window.harmed=1//'",
  '\u202eright to left\u2028line',
  "$& $` $' ${window.harmed = 1}",
  '__proto__',
].join(' ');

const BROKEN = `${FIELD}/din-closes-46v-apart.pcapng`;

/** The report of a broken session in which every text is hostile. */
async function hostile(): Promise<ReportInput> {
  const input = await replayed(BROKEN);
  const [{ result, timelines }] = input.files as [ReportInput['files'][number]];
  const spoilt = JSON.parse(JSON.stringify(result), (key, value) => {
    // Rules, verdicts and sides come from handfast alone.
    const own = ['rule', 'verdict', 'class', 'status', 'id', 'evidence', 'confidence', 'protocol'];
    const closed = own.includes(key) || value === 'vehicle' || value === 'charger';
    return typeof value === 'string' && !closed ? `${value} ${HOSTILE}` : value;
  });
  const timeline = structuredClone(timelines[0]!);
  for (const head of timeline.heads) {
    head.name += HOSTILE;
    if (head.link !== undefined) head.link += HOSTILE;
  }
  timeline.columns = timeline.columns.map((columns) =>
    columns.map((leaves) => leaves.map((leaf) => (typeof leaf === 'string' ? HOSTILE : leaf))),
  );
  for (const lane of Object.values(timeline.lanes)) lane.words = lane.words.map(() => HOSTILE);
  const drawings = [
    { title: HOSTILE, svg: `<svg xmlns="http://www.w3.org/2000/svg">${HOSTILE}</svg>` },
  ];
  return {
    identities: true,
    title: HOSTILE,
    files: [{ result: spoilt, timelines: [timeline] }],
    again: HOSTILE,
    drawings,
  };
}

describe('the data in a report', () => {
  it('cannot end the element they stand in', async () => {
    const text = await html(await hostile());
    const scripts = [...text.matchAll(/<script type="application\/json"[^>]*>([^]*?)<\/script>/g)];
    expect(scripts.length).toBe(2);
    for (const [, json] of scripts) {
      expect(json).not.toMatch(/[<\u2028\u2029]/);
      expect(() => JSON.parse(json!)).not.toThrow();
    }
    expect(JSON.parse(scripts[0]![1]!).title).toBe(HOSTILE);
    // The page's own script is the only one that is run.
    expect(text.match(/<script(?! type="application\/json")/g)).toHaveLength(1);
  });
});

describe.skipIf(toolSkipped('chromium', 'hostile strings and accessibility of the HTML report'))(
  'in a browser',
  () => {
    const pages = new Pages();
    afterAll(() => pages.close());

    it('shows hostile strings and runs none', async () => {
      const page = await pages.open(await hostile());
      await page.click('.finding .go');
      await page.locator('.line-head').first().click();
      const search = page.getByLabel('Search the messages');
      await search.fill('onerror');
      await expect.poll(() => page.locator('.line').count()).toBeGreaterThan(1);
      expect(await page.evaluate(() => (window as { harmed?: number }).harmed)).toBeUndefined();
      // No element of a recording's making; the drawing is an image, in which no script runs.
      expect(
        await page
          .locator('main script, main img:not([src^="data:image/svg"]), main svg[onload]')
          .count(),
      ).toBe(0);
      const said = await page.locator('.verdict').innerText();
      expect(said).toContain('<img src=x');
      expect(said).toContain('\\u202e');
      expect(pages.troubles).toEqual([]);
    });

    it('lets no script but its own run', async () => {
      const page = await pages.open(await replayed(BROKEN));
      await page.evaluate(() => {
        const script = document.createElement('script');
        script.textContent = 'window.harmed = 1';
        document.body.append(script);
      });
      expect(await page.evaluate(() => (window as { harmed?: number }).harmed)).toBeUndefined();
      expect(pages.troubles.splice(0).join()).toContain('Content Security Policy');
    });

    it('asks for nothing over the network', async () => {
      const page = await pages.open(await replayed(BROKEN));
      expect(await page.content()).not.toMatch(/(?:src|href)="(?!#|data:)/);
      expect(pages.troubles).toEqual([]);
    });

    for (const colorScheme of ['light', 'dark'] as const) {
      it(`gives axe nothing serious to say, ${colorScheme}`, async () => {
        const files = [BROKEN, `${FIELD}/iso2-clean.pcap`, `${FIELD}/din-demand-unanswered.pcapng`];
        for (const width of [1440, 390]) {
          const input = await replayed(...files);
          const page = await pages.open(input, { colorScheme, viewport: { width, height: 900 } });
          await page.click('.finding .go');
          expect(await axe(page), `${width} px`).toEqual([]);
          await page.close();
        }
      });
    }
  },
);

/** WCAG 2.2 A and AA: what is serious or critical, with the elements it is about. */
async function axe(page: Page): Promise<string[]> {
  const source = readFileSync(
    createRequire(import.meta.url).resolve('axe-core/axe.min.js'),
    'utf8',
  );
  await page.evaluate(source);
  return page.evaluate(async () => {
    const { axe: run } = window as unknown as {
      axe: {
        run: (options: object) => Promise<{
          violations: { id: string; impact: string; nodes: { html: string }[] }[];
        }>;
      };
    };
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    const { violations } = await run.run({ runOnly: tags });
    return violations
      .filter(({ impact }) => impact === 'serious' || impact === 'critical')
      .flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.html}`));
  });
}
