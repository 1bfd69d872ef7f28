// The command line of `replay`, and of `report`, which shows the same in a browser.
import { Command, InvalidArgumentError, Option } from 'commander';
import { withCheckFiles } from './check-files.ts';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { milliseconds, secondsToNanoseconds, wholeNumber } from './numbers.ts';
import { CRASH_DEADLINE_ms, type ReplayOptions } from './replay-options.ts';
import type { Run } from './run-state.ts';

export function replayOf(run: Run): Command {
  const sources: ReplayOptions['with'] = [];
  const command = new Command('replay')
    .summary('judge recordings against the safety rules')
    .description(
      'Judges recordings: captures (pcap, pcapng) and traces, told by their content. Folders are walked.',
    )
    .option('--jsonl', 'print one session a line; a file without one has a line with no id')
    .option('--html <file>', 'write a report to look at in a browser, too');
  return withRecordings(withCheckFiles(command), sources)
    .addHelpText(
      'before',
      examples([
        ['replay session.pcapng', 'one recording, told in full'],
        ['replay recordings/ --jsonl', 'a folder, one session a line'],
        ['replay a.pcapng --with pilot.jsonl --offset 0.25', 'two recorders of one session'],
      ]),
    )
    .action(async (paths: string[], _own, own: Command) => {
      const options = { ...own.optsWithGlobals<ReplayOptions>(), with: sources };
      const { replayCommand } = await import('./replay-command.ts');
      run.code = await replayCommand(paths, options, run.io, await run.engine());
    });
}

export function reportOf(run: Run): Command {
  const sources: ReplayOptions['with'] = [];
  const command = new Command('report')
    .summary('judge recordings and write a report to look at in a browser')
    .description(
      'Judges recordings as replay does, and writes one HTML file that needs nothing else: verdict and rules, ' +
        'figures over time, every message. Identifiers of vehicles, contracts and sessions have other names in it.',
    )
    .option('--out <file>', 'the file to write', 'report.html');
  return withRecordings(command, sources)
    .addHelpText(
      'before',
      examples([
        ['report session.pcapng', 'one recording, in report.html'],
        ['report recordings/ --out quay.html', 'a folder, all sessions in one file'],
      ]),
    )
    .action(async (paths: string[], _own, own: Command) => {
      const options = { ...own.optsWithGlobals<ReplayOptions & { out: string }>(), with: sources };
      const { reportCommand } = await import('./report-command.ts');
      run.code = await reportCommand(paths, options, run.io, await run.engine());
    });
}

/** What is read, and how it is judged. */
function withRecordings(command: Command, sources: ReplayOptions['with']): Command {
  return command
    .argument('<path...>', 'recordings, or folders of them')
    .option('--strict', 'conformance rules and suspected breaches decide the verdict, too')
    .option('--with <file>', 'merge another recording of the same session', (path: string) => {
      sources.push({ path, offset_ns: null });
      return sources;
    })
    .option('--offset <seconds>', 'add to the times of the --with before it', (text: string) => {
      const last = sources.at(-1);
      if (last === undefined) throw new InvalidArgumentError('It belongs after a --with.');
      if (last.offset_ns !== null) throw new InvalidArgumentError('That --with has one already.');
      last.offset_ns = secondsToNanoseconds(text);
      return last.offset_ns;
    })
    .option('--jobs <n>', 'files judged at once (default: by cores and size)', wholeNumber(1, 256))
    .addOption(
      new Option('--crash-deadline <ms>', 'time a crash signal leaves to open the pack')
        .argParser(milliseconds)
        .default(CRASH_DEADLINE_ms),
    )
    .option('--identities', 'identifiers stay as they are in files that are written')
    .addHelpText('after', `\n${EXIT_HELP}`);
}
