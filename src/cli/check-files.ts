// Files for other programs beside what is printed: JUnit XML, SARIF, a Markdown summary.
import type { Command } from 'commander';
import type { Checked } from '../report/checks.ts';
import { VERSION } from './version.ts';
import { expectWritable, writeText } from './write-file.ts';

export interface CheckFiles {
  junit?: string;
  sarif?: string;
  markdown?: string;
  identities?: boolean;
}

const KINDS = ['junit', 'sarif', 'markdown'] as const;

export function withCheckFiles(command: Command): Command {
  return command
    .option('--junit <file>', 'write JUnit XML, too')
    .option('--sarif <file>', 'write SARIF 2.1.0, too')
    .option('--markdown <file>', 'write a summary in Markdown, too');
}

export function wantsCheckFiles(options: CheckFiles): boolean {
  return KINDS.some((kind) => options[kind] !== undefined);
}

/** Throws a UsageError, before anything is read, where one of the files cannot be written. */
export async function expectCheckFiles(options: CheckFiles): Promise<void> {
  for (const kind of KINDS) {
    const path = options[kind];
    if (path !== undefined) await expectWritable(path);
  }
}

/** Identifiers of vehicles and sessions get other names, the same in all files, unless asked for as they are. */
export async function writeCheckFiles(checked: Checked, options: CheckFiles): Promise<void> {
  if (!wantsCheckFiles(options)) return;
  const { withoutIdentities } = await import('../report/checks-private.ts');
  const shown = options.identities === true ? checked : withoutIdentities(checked);
  if (options.junit !== undefined) {
    const { junit } = await import('../report/junit.ts');
    await writeText(options.junit, junit(shown));
  }
  if (options.sarif !== undefined) {
    const { sarif } = await import('../report/sarif.ts');
    await writeText(options.sarif, sarif(shown, { version: VERSION, folder: process.cwd() }));
  }
  if (options.markdown !== undefined) {
    const { markdown } = await import('../report/markdown.ts');
    await writeText(options.markdown, markdown(shown));
  }
}
