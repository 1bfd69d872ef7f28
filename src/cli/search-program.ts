// The command line of the searches: `prove`, and `export`, which writes what they search.
import { Command, Option } from 'commander';
import { withCheckFiles } from './check-files.ts';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { wholeNumber } from './numbers.ts';
import { DEFAULT_FAULTS, PROVE_LIMITS } from './prove-options.ts';
import type { Run } from './run-state.ts';

const PROTOCOLS = ['din70121', 'iso15118-2'] as const;

export function proveOf(run: Run): Command {
  return withCheckFiles(new Command('prove'))
    .summary('search every sequence for one that breaks a rule')
    .description(
      'Searches every sequence of messages, losses, timers and faults of two machines for one that breaks a rule, ' +
        'and tells a shortest one, or `holds` after a complete search.',
    )
    .addOption(
      new Option('--protocol <name>', 'the protocol').choices(PROTOCOLS).default('din70121'),
    )
    .option('--vehicle <file>', 'your own vehicle: TypeScript, JavaScript, or a table in JSON')
    .option('--charger <file>', 'your own charger')
    .option('--faults <n>', 'faults a run may have, 0 to 2', wholeNumber(0, 2), DEFAULT_FAULTS)
    .addOption(
      new Option('--alone <side>', 'judge one side, against a peer that may do anything').choices([
        'vehicle',
        'charger',
      ]),
    )
    .option('--untimed', 'without clocks: timers run out at any time, no deadline is judged')
    .option('--safe-end', 'search, too, whether a safe end stays within reach from everywhere')
    .option('--states <n>', 'stop after so many states', wholeNumber(1, 1e9), PROVE_LIMITS.states)
    .option(
      '--memory <MB>',
      'stop where the states would take more',
      wholeNumber(16, 1e6),
      PROVE_LIMITS.memory,
    )
    .option('--time <seconds>', 'stop after this time', wholeNumber(1, 86_400), PROVE_LIMITS.time)
    .option('--promela <file>', 'write the model that is searched for SPIN, too')
    .option('--traces <folder>', 'write what breaks a rule as a trace, for replay')
    .option('--html <file>', 'write a report to look at in a browser')
    .addHelpText(
      'before',
      examples([
        ['prove', 'the bundled machines of DIN SPEC 70121'],
        [
          'prove --vehicle my-vehicle.ts --faults 1',
          'your own vehicle against the bundled charger',
        ],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (_own, command: Command) => {
      const { proveCommand } = await import('./prove-command.ts');
      run.code = await proveCommand(command.optsWithGlobals(), run.io);
    });
}

export function exportOf(run: Run): Command {
  return new Command('export')
    .summary('write a machine as a table')
    .description(
      'Writes a machine as a table in JSON: its states, the events each reacts to, with guards, outputs and delays. ' +
        'Whatever takes a machine takes the table (handfast/schema/machine-table.json).',
    )
    .addOption(
      new Option('--protocol <name>', 'a bundled machine of this protocol').choices(PROTOCOLS),
    )
    .addOption(new Option('--side <side>', 'which side').choices(['vehicle', 'charger']))
    .option('--machine <file>', 'your own machine: TypeScript, JavaScript, or a table in JSON')
    .option('--out <file>', 'write to this file instead of standard output')
    .addHelpText(
      'before',
      examples([
        ['export --protocol din70121 --side vehicle --out table.json', 'a bundled machine'],
        ['export --machine my-vehicle.ts', 'your own'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (_own, command: Command) => {
      const { exportCommand } = await import('./export-command.ts');
      run.code = await exportCommand(command.optsWithGlobals(), run.io);
    });
}
