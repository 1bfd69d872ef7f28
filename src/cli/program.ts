// The command line: what may be typed. Each command's code is loaded only when it runs.
import { Argument, Command, Option } from 'commander';
import { drawOf } from './draw-program.ts';
import { UsageError } from './errors.ts';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { fuzzOf } from './fuzz-program.ts';
import { compareOf, gateOf } from './gate-program.ts';
import type { CommonOptions } from './io.ts';
import { wholeNumber } from './numbers.ts';
import { replayOf, reportOf } from './replay-program.ts';
import type { Run } from './run-state.ts';
import { exportOf, proveOf } from './search-program.ts';
import { simulateOf } from './simulate-program.ts';
import { VERSION } from './version.ts';

const SAYS =
  'Replays the dialogue between an electric vehicle and a d.c. charger against the safety rules: ' +
  'which rule broke, at which frame, whose breach it was, by how much.\n\n' +
  'High-voltage d.c. kills. `holds` is evidence about a recording, never a clearance to energise.';

const SCHEMAS = ['app-protocol', 'din70121', 'iso15118-2'] as const;

export function programOf(run: Run): Command {
  const program = new Command('handfast')
    .description(SAYS)
    .version(VERSION, '--version', 'print the version')
    .helpOption('--help', 'print this help')
    .helpCommand(false)
    .configureHelp({ showGlobalOptions: true })
    .option('--json', 'print JSON instead of text')
    .option('--quiet', 'print the result only: no progress, no remarks, of text the verdict alone')
    .option('--no-color', 'print without colour (so does NO_COLOR; FORCE_COLOR forces it)')
    .option('--width <columns>', 'wrap text at this width', wholeNumber(60, 1000))
    .option('--debug', 'print where an internal fault arose')
    .addHelpText(
      'before',
      examples([
        ['replay session.pcapng', 'judge one recording'],
        ['replay --json recordings/', 'judge a folder, for a program'],
        ['report recordings/ --out report.html', 'the same to look at, in a browser'],
        ['decode session.pcapng', 'what was said, as JSON Lines'],
        ['rules both-consent', 'what a rule asks, and of whom'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`);
  program.addCommand(replayOf(run).copyInheritedSettings(program));
  program.addCommand(reportOf(run).copyInheritedSettings(program));
  program.addCommand(decodeOf(run).copyInheritedSettings(program));
  program.addCommand(encodeOf(run).copyInheritedSettings(program));
  program.addCommand(rulesOf(run).copyInheritedSettings(program));
  program.addCommand(proveOf(run).copyInheritedSettings(program));
  program.addCommand(exportOf(run).copyInheritedSettings(program));
  program.addCommand(simulateOf(run).copyInheritedSettings(program));
  program.addCommand(fuzzOf(run).copyInheritedSettings(program));
  program.addCommand(drawOf(run, program));
  program.addCommand(compareOf(run).copyInheritedSettings(program));
  program.addCommand(gateOf(run).copyInheritedSettings(program));
  return program;
}

interface DecodeOptions extends CommonOptions {
  hex?: boolean;
  schema?: (typeof SCHEMAS)[number];
}

function decodeOf(run: Run): Command {
  return new Command('decode')
    .summary('print what a recording holds, as JSON Lines')
    .description(
      'Prints a recording as a trace: a header, then one observation a line. Message bytes and ' +
        'identifiers are exact. With --hex, decodes single messages from standard input instead: ' +
        'hexadecimal bytes, one message a line; one JSON line out for each line that is not blank.',
    )
    .argument('[capture]', 'a capture or trace; - for standard input')
    .option('--hex', 'read messages as hexadecimal lines from standard input')
    .addOption(schemaOption())
    .addHelpText(
      'before',
      examples([
        ['decode session.pcapng > session.jsonl', 'a capture as a trace'],
        ['decode --hex --schema din70121 < bytes.txt', 'single messages'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (capture: string | undefined, _own, command: Command) => {
      const options = command.optsWithGlobals<DecodeOptions>();
      if (options.hex) {
        if (capture !== undefined) throw new UsageError('--hex reads standard input, not a file');
        const { decodeLines } = await import('./exi-lines.ts');
        run.code = await decodeLines(schemaOf(options), run.io);
        return;
      }
      if (capture === undefined) throw new UsageError('name a capture, or - for standard input');
      if (options.schema !== undefined) throw new UsageError('--schema belongs to --hex');
      const { decodeCommand } = await import('./decode-command.ts');
      run.code = await decodeCommand(capture, options, run.io);
    });
}

function encodeOf(run: Run): Command {
  return new Command('encode')
    .summary('turn messages into bytes')
    .description(
      'Reads messages as `decode --hex` prints them, one a line, from standard input; prints the ' +
        'bytes of each as a line of hexadecimal digits.',
    )
    .addOption(schemaOption())
    .addHelpText('before', examples([['encode --schema din70121 < messages.jsonl', 'bytes']]))
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (_own, command: Command) => {
      const { encodeLines } = await import('./exi-lines.ts');
      run.code = await encodeLines(schemaOf(command.optsWithGlobals<DecodeOptions>()), run.io);
    });
}

function schemaOption(): Option {
  return new Option('--schema <name>', 'the messages are of this schema').choices(SCHEMAS);
}

function schemaOf({ schema }: DecodeOptions): (typeof SCHEMAS)[number] {
  if (schema === undefined) throw new UsageError(`name a --schema: ${SCHEMAS.join(', ')}`);
  return schema;
}

function rulesOf(run: Run): Command {
  return new Command('rules')
    .summary('list the rules, or explain one')
    .description('Lists every rule with its class and owners; with a name, all that is behind it.')
    .addArgument(new Argument('[name]', 'a rule'))
    .addHelpText(
      'before',
      examples([
        ['rules', 'all'],
        ['rules gate-before-close', 'one in full'],
      ]),
    )
    .action(async (name: string | undefined, _own, command: Command) => {
      const { rulesCommand } = await import('./rules-command.ts');
      run.code = await rulesCommand(name, command.optsWithGlobals<CommonOptions>(), run.io);
    });
}
