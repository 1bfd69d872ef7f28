// The command line of `fuzz`.
import { Command, Option } from 'commander';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { FUZZ_RUNS } from './fuzz-options.ts';
import { wholeNumber } from './numbers.ts';
import type { Run } from './run-state.ts';

export function fuzzOf(run: Run): Command {
  return new Command('fuzz')
    .summary('try sessions at random, guided by what they reach')
    .description(
      'Tries sessions with late, lost, repeated and stale messages, lies, broken sensors, crashes, restarts and timing at ' +
        'the edges of every deadline, guided by what they reach, until one breaks a safety rule; tells the simplest ' +
        'session that does. Nothing found is no proof.',
    )
    .addOption(
      new Option('--protocol <name>', 'the protocol (din70121 unless told otherwise)').choices([
        'din70121',
        'iso15118-2',
      ]),
    )
    .option('--vehicle <side>', 'your own vehicle: a machine (.ts, .js, .json) or exec:COMMAND')
    .option('--charger <side>', 'your own charger')
    .option('--runs <n>', 'sessions to try', wholeNumber(1, 1e8), FUZZ_RUNS)
    .option('--time <seconds>', 'begin no more sessions after this time', wholeNumber(1, 86_400))
    .option('--seed <n>', 'the campaign; drawn where it is not told', wholeNumber(0, 999_999_999))
    .option('--workers <n>', 'threads (default: one a core)', wholeNumber(1, 64))
    .option('--save <folder>', 'keep what is found: a trace, and beside it what it must show')
    .option('--html <file>', 'write a report of what is found, to look at in a browser')
    .option('--replay <trace>', 'play the plan of a kept finding again, with these sides')
    .addHelpText(
      'before',
      examples([
        ['fuzz --seed 1', 'the bundled machines of DIN SPEC 70121'],
        ['fuzz --vehicle my-vehicle.ts --runs 20000', 'your own vehicle, longer'],
        ["fuzz --charger 'exec:./my-charger'", 'a controller in any language'],
        ['fuzz --replay findings/both-consent-1a2b3c4d.jsonl', 'a kept finding'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (_own, command: Command) => {
      const { fuzzCommand } = await import('./fuzz-command.ts');
      run.code = await fuzzCommand(command.optsWithGlobals(), run.io);
    });
}
