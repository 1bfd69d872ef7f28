// The report as one HTML file: the built page with the data in it.
import { readFile } from 'node:fs/promises';
import { reportParts, type ReportInput } from './report-data.ts';

/** The page as the build leaves it: beside this file where it is built, in the build's folder when run from source. */
const PAGES = ['./page.html', '../../dist/src/report/page.html'];

/** Where the data stand in it. */
const PLACE = '<!-- handfast:data -->';

/** The whole file. Throws an Error when the page was not built. */
export async function html(input: ReportInput): Promise<string> {
  const page = await builtPage();
  const at = page.indexOf(PLACE);
  if (at < 0) throw new Error('the page of the report has no place for its data');
  const { data, timelines } = reportParts(input);
  const scripts = [
    script('report', data),
    ...timelines.map(({ file, session, timeline }) =>
      script(`timeline-${file}-${session}`, timeline),
    ),
  ];
  return [page.slice(0, at), ...scripts, page.slice(at + PLACE.length)].join('\n');
}

async function builtPage(): Promise<string> {
  for (const place of PAGES) {
    try {
      return await readFile(new URL(place, import.meta.url), 'utf8');
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    }
  }
  throw new Error('the page of the report is not built: npm run build');
}

/**
 * Data in an element that no browser runs. Nothing in it can end the element or begin a comment, since there is no `<`
 * in it; the two line separators are written as escapes for readers that take JSON for JavaScript.
 */
function script(id: string, data: unknown): string {
  const json = JSON.stringify(data).replace(/[<\u2028\u2029]/g, escaped);
  return `<script type="application/json" id="${id}">${json}</script>`;
}

const escaped = (one: string): string => `\\u${one.charCodeAt(0).toString(16).padStart(4, '0')}`;
