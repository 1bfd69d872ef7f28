// The data as they stand in the page.
import { plainDeep } from '../plain.ts';
import type { ReportData } from '../report-data.ts';
import type { PackedTimeline } from '../timeline/timeline.ts';

/** Strings of a capture may hold characters that turn text around: they are spelt out. */
export function readReport(): ReportData {
  return plainDeep(parsed<ReportData>('report')!);
}

/** Null where the report has none of this session. */
export function readTimeline(file: number, session: number): PackedTimeline | null {
  return parsed<PackedTimeline>(`timeline-${file}-${session}`);
}

function parsed<T>(id: string): T | null {
  const text = document.getElementById(id)?.textContent;
  return text === null || text === undefined ? null : (JSON.parse(text) as T);
}
