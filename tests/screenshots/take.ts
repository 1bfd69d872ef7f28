// `npm run screenshots`: the pictures of the README, taken anew of the demo traces in Chromium.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { machinesOf } from '../../src/cli/bundled-engine.ts';
import { openFile } from '../../src/replay/open.ts';
import { html } from '../../src/report/html.ts';
import { replayForReport } from '../../src/report/timeline/replay-for-report.ts';
import { placeBuiltPage } from '../support/place-page.ts';

interface Picture {
  name: string;
  trace: string;
  width: number;
  height: number;
  scheme: 'light' | 'dark';
  /** Brings what is to be seen to the top of the screen. */
  look: (page: Page) => Promise<unknown>;
}

const to = (page: Page, element: string): Promise<unknown> =>
  page
    .locator(element)
    .first()
    .evaluate((found) => (found as { scrollIntoView(): void }).scrollIntoView());

const PICTURES: Picture[] = [
  {
    name: 'verdict',
    trace: 'traces/field/din-closes-46v-apart.pcapng',
    width: 1200,
    height: 760,
    scheme: 'light',
    look: async () => {},
  },
  {
    name: 'chart',
    trace: 'traces/demo/contactor-weld.jsonl',
    width: 1200,
    height: 800,
    scheme: 'light',
    look: (page) => to(page, '.chart'),
  },
  {
    name: 'sequence',
    trace: 'traces/field/din-closes-46v-apart.pcapng',
    width: 1200,
    height: 760,
    scheme: 'dark',
    look: async (page) => {
      await page.click('.finding .go');
      await to(page, '.sequence');
    },
  },
];

async function take(picture: Picture, browser: Browser, folder: string): Promise<void> {
  const { name, trace, width, height, scheme, look } = picture;
  const file = await replayForReport(await openFile(trace, []), trace, {
    machines: machinesOf,
    strict: false,
    crashDeadline_ms: 100,
  });
  const path = join(folder, `${name}.html`);
  writeFileSync(path, await html({ files: [file] }));
  const page = await browser.newPage({ viewport: { width, height }, colorScheme: scheme });
  await page.goto(`file://${path}`);
  await page.waitForSelector('main');
  await look(page);
  // The chart is drawn with the next frames.
  await page.waitForTimeout(300);
  await page.screenshot({ path: `docs/report-${name}.png` });
  await page.close();
}

const folder = mkdtempSync(join(tmpdir(), 'handfast-screenshots-'));
placeBuiltPage();
const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox'],
});
try {
  for (const picture of PICTURES) await take(picture, browser, folder);
} finally {
  await browser.close();
  rmSync(folder, { recursive: true });
}
