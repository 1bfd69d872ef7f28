// Reports in real Chromium. Every page reports what goes wrong in it: an error on the console fails the test.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core';
import { bundledEngine } from '../../../src/cli/bundled-engine.ts';
import { html } from '../../../src/report/html.ts';
import type { ReportInput } from '../../../src/report/report-data.ts';
import type { Timeline } from '../../../src/report/timeline/timeline.ts';

export const FIELD = 'traces/field';

export class Pages {
  readonly #folder = mkdtempSync(join(tmpdir(), 'handfast-report-'));
  #browser: Browser | null = null;
  #count = 0;
  /** What the pages said went wrong. */
  readonly troubles: string[] = [];

  async open(input: ReportInput, options: BrowserContextOptions = {}): Promise<Page> {
    this.#browser ??= await chromium.launch({
      executablePath: '/usr/bin/chromium',
      args: ['--no-sandbox'],
    });
    this.#count += 1;
    const path = join(this.#folder, `${this.#count}.html`);
    writeFileSync(path, await html(input));
    const context = await this.#browser.newContext({
      viewport: { width: 1440, height: 900 },
      ...options,
    });
    const page = await context.newPage();
    page.on('console', (message) => {
      if (message.type() === 'error') this.troubles.push(message.text());
    });
    page.on('pageerror', (error) => this.troubles.push(error.message));
    page.on('request', (request) => {
      if (!/^(file|data):/.test(request.url())) this.troubles.push(`asked for ${request.url()}`);
    });
    await page.goto(`file://${path}`);
    await page.waitForSelector('main');
    return page;
  }

  async close(): Promise<void> {
    await this.#browser?.close();
    rmSync(this.#folder, { recursive: true });
  }
}

/** Recordings as `handfast report` takes them. */
export async function replayed(...paths: string[]): Promise<ReportInput> {
  const settings = { strict: false, with: [], crashDeadline_ms: 100, timelines: true };
  const files: ReportInput['files'] = [];
  for (const path of paths) {
    const timelines: (Timeline | null)[] = [];
    const result = await bundledEngine.replay(path, settings, (_session, _epoch, timeline) => {
      timelines.push(timeline);
    });
    files.push({ result, timelines });
  }
  return { files, again: `handfast replay ${paths.join(' ')}` };
}
