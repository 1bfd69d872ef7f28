// The HTML report of a session of 60,000 messages: its size, the time to write it, and in Chromium the time to the first
// paint and of one step of zoom. The same page with an empty report in it is the peer: what the browser takes anyway.
import { Buffer } from 'node:buffer';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Browser } from 'playwright-core';
import { html } from '../../src/report/html.ts';
import type { ReportInput } from '../../src/report/report-data.ts';
import { TimelineRecorder } from '../../src/report/timeline/record.ts';
import type { Timeline } from '../../src/report/timeline/timeline.ts';
import { replayTrace } from '../../src/replay/replay.ts';
import { openTrace } from '../../src/trace/reader.ts';
import { machines } from '../support/machines.ts';
import { placeBuiltPage } from '../support/place-page.ts';
import { toolSkipped } from '../support/tools.ts';
import { cutSession, HEADER, linesOf, MESSAGES } from './replay.ts';

const ROUNDS = 5;
const ZOOMS = 60;
const CHROMIUM = '/usr/bin/chromium';

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

/** A session of so many messages, replayed with and without its timeline. */
async function longSession(): Promise<{ bytes: Buffer }> {
  const cut = await cutSession();
  const around = cut.before.length + cut.after.length;
  const lines = [...linesOf(cut, Math.round((MESSAGES - around) / cut.transfer.length))];
  return { bytes: Buffer.from(`${HEADER}\n${lines.join('\n')}\n`) };
}

async function recorded(bytes: Buffer, record: boolean): Promise<ReportInput> {
  async function* source(): AsyncGenerator<Buffer> {
    yield bytes;
  }
  const recorder = record ? new TimelineRecorder() : null;
  const timelines: (Timeline | null)[] = [];
  const result = await replayTrace(await openTrace(source(), 'bench'), 'bench', {
    machines,
    strict: true,
    crashDeadline_ms: 100,
    ...(recorder === null ? {} : { watcher: recorder }),
    onSession: (session) => timelines.push(recorder?.take(session) ?? null),
  });
  return { files: [{ result, timelines }] };
}

async function timed<T>(work: () => Promise<T>): Promise<{ last: T; ms: number }> {
  const times: number[] = [];
  let last: T | undefined;
  for (let round = 0; round < ROUNDS; round += 1) {
    const begun = performance.now();
    last = await work();
    times.push(performance.now() - begun);
  }
  return { last: last!, ms: median(times) };
}

/** With and without its timeline, in turns; the first of each warms up. */
async function replays(
  bytes: Buffer,
): Promise<{ alone_ms: number; replay: { last: ReportInput; ms: number } }> {
  const alone: number[] = [];
  const whole: number[] = [];
  let last = await recorded(bytes, true);
  await recorded(bytes, false);
  for (let round = 0; round < ROUNDS; round += 1) {
    let begun = performance.now();
    await recorded(bytes, false);
    alone.push(performance.now() - begun);
    begun = performance.now();
    last = await recorded(bytes, true);
    whole.push(performance.now() - begun);
  }
  return { alone_ms: median(alone), replay: { last, ms: median(whole) } };
}

/** Milliseconds from the start of the navigation to the first content on the screen. */
async function firstPaint(browser: Browser, path: string): Promise<number> {
  const times: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
    await page.goto(`file://${path}`);
    await page.waitForSelector('main .scroller .line');
    // The entry is there once the frame has been shown.
    await page.waitForTimeout(200);
    times.push(
      (await page.evaluate(
        `performance.getEntriesByName('first-contentful-paint')[0].startTime`,
      )) as number,
    );
    await page.close();
  }
  return median(times);
}

/** Milliseconds of work for one step of zoom, from the wheel's event to the frame after it is drawn. */
async function zoomTimes(browser: Browser, path: string): Promise<number[]> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.goto(`file://${path}`);
  await page.waitForSelector('.chart .reach');
  const times = (await page.evaluate(`(async () => {
    const over = document.querySelector('.reach');
    const box = over.getBoundingClientRect();
    const times = [];
    for (let step = 0; step < ${ZOOMS}; step += 1) {
      await new Promise((done) => requestAnimationFrame(done));
      const begun = performance.now();
      over.dispatchEvent(new WheelEvent('wheel', {
        ctrlKey: true, deltaY: step % 20 < 10 ? -120 : 120, cancelable: true,
        clientX: box.left + box.width / 3, clientY: box.top + 40,
      }));
      // The canvases are drawn and the text beside them laid out in tasks right after the event.
      await new Promise((done) => requestAnimationFrame(() => {
        const channel = new MessageChannel();
        channel.port1.onmessage = done;
        channel.port2.postMessage(null);
      }));
      times.push(performance.now() - begun);
    }
    return times;
  })()`)) as number[];
  await page.close();
  return times;
}

/** Milliseconds a step of zoom keeps the page's thread busy, waiting for frames left out. */
async function zoomWork(browser: Browser, path: string): Promise<number> {
  const page = await browser.newPage({ viewport: { width: 1440, height: 900 } });
  await page.goto(`file://${path}`);
  await page.waitForSelector('.chart .reach');
  const session = await page.context().newCDPSession(page);
  await session.send('Performance.enable');
  const busy = async (): Promise<number> => {
    const { metrics } = await session.send('Performance.getMetrics');
    return metrics.find(({ name }) => name === 'TaskDuration')!.value * 1000;
  };
  const before = await busy();
  await page.evaluate(`(async () => {
    const over = document.querySelector('.reach');
    const box = over.getBoundingClientRect();
    for (let step = 0; step < ${ZOOMS}; step += 1) {
      over.dispatchEvent(new WheelEvent('wheel', {
        ctrlKey: true, deltaY: step % 20 < 10 ? -120 : 120, cancelable: true,
        clientX: box.left + box.width / 3, clientY: box.top + 40,
      }));
      await new Promise((done) => requestAnimationFrame(done));
    }
  })()`);
  const work = ((await busy()) - before) / ZOOMS;
  await page.close();
  return work;
}

async function inBrowser(long: string, empty: string): Promise<string[]> {
  const browser = await chromium.launch({ executablePath: CHROMIUM, args: ['--no-sandbox'] });
  try {
    const [paint, bare] = [await firstPaint(browser, long), await firstPaint(browser, empty)];
    const zoom = await zoomTimes(browser, long);
    const work = await zoomWork(browser, long);
    const worst = Math.max(...zoom).toFixed(0);
    return [
      `first paint: ${paint.toFixed(0)} ms, of a short one ${bare.toFixed(0)} ms (floor 1500 ms, goal 500 ms)`,
      `one step of zoom: ${work.toFixed(1)} ms of work; to the frame drawn ${median(zoom).toFixed(1)} ms, at most ${worst} ms (floor 50 ms, goal 16 ms)`,
    ];
  } finally {
    await browser.close();
  }
}

export async function run(): Promise<string[]> {
  const folder = mkdtempSync(join(tmpdir(), 'handfast-page-'));
  try {
    placeBuiltPage();
    const { bytes } = await longSession();
    const { alone_ms, replay } = await replays(bytes);
    const written = await timed(() => html(replay.last));
    const long = join(folder, 'long.html');
    writeFileSync(long, written.last);
    const { summary } = replay.last.files[0]!.result.sessions[0]!;
    const megabytes = (Buffer.byteLength(written.last) / 1e6).toFixed(2);
    const extra = (replay.ms - alone_ms).toFixed(0);
    const lines = [
      `report of ${summary.messages} messages: ${megabytes} MB (floor 6 MB, goal 2 MB), ${((written.last.length / bytes.length) * 100).toFixed(0)} % of the trace`,
      `to write it: ${written.ms.toFixed(0)} ms, and ${extra} ms more to replay (${(replay.ms / alone_ms).toFixed(2)}x) (floor 2000 ms, goal 500 ms)`,
    ];
    if (toolSkipped('chromium', 'first paint and zoom of the report')) return lines;
    const short = join(folder, 'short.html');
    const brief = Buffer.from(`${HEADER}\n${[...linesOf(await cutSession(), 1)].join('\n')}\n`);
    writeFileSync(short, await html(await recorded(brief, true)));
    return [...lines, ...(await inBrowser(long, short))];
  } finally {
    rmSync(folder, { recursive: true });
  }
}

if (process.argv[1] === import.meta.filename) {
  for (const line of await run()) console.log(line);
}
