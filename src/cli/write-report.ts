// The HTML report of a command, as `--html FILE` asks for it.
import { html } from '../report/html.ts';
import type { ReportInput } from '../report/report-data.ts';
import { writeText } from './write-file.ts';

/** Throws a UsageError when the file cannot be written. */
export async function writeReport(path: string, input: ReportInput): Promise<void> {
  await writeText(path, await html(input));
}
