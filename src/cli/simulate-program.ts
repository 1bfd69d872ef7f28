// The command line of `simulate`.
import { Command } from 'commander';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { wholeNumber } from './numbers.ts';
import type { Run } from './run-state.ts';

export function simulateOf(run: Run): Command {
  return new Command('simulate')
    .summary('make a trace of a scenario: both sides, the link and the physics')
    .description(
      'Runs both machines, the link, the pack and the charger in virtual time, with the faults a scenario names, and ' +
        'replays what came of it. The same scenario and seed give the same trace. A scenario that says what it ' +
        'expects succeeds when the replay says so.',
    )
    .argument('<scenario>', 'a scenario file, YAML or JSON (- for standard input)')
    .option('--out <file>', 'write the trace to this file')
    .option('--html <file>', 'write a report to look at in a browser')
    .option('--seed <n>', "instead of the scenario's seed", wholeNumber(0, 4_294_967_295))
    .option('--vehicle <file>', 'your own vehicle: TypeScript, JavaScript, or a table in JSON')
    .option('--charger <file>', 'your own charger')
    .addHelpText(
      'before',
      examples([
        ['simulate traces/demo/clean-400-v.yaml', 'a bundled scenario'],
        ['simulate my.yaml --out my.jsonl --seed 7', 'with its trace, by another chance'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (file: string, _own, command: Command) => {
      const { simulateCommand } = await import('./simulate-command.ts');
      run.code = await simulateCommand(file, command.optsWithGlobals(), run.io);
    });
}
