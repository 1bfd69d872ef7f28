// The command line of what judges updates: `compare`.
import { Command, Option } from 'commander';
import { examples } from './examples.ts';
import { wholeNumber } from './numbers.ts';
import { PROVE_LIMITS } from './prove-options.ts';
import type { Run } from './run-state.ts';

const PROTOCOLS = ['din70121', 'iso15118-2'] as const;

const COMPARE_EXITS = `Exit codes:
  0    equivalent, or safe: no rule's verdict is worse, no recording newly diverges
  1    unsafe: a rule can be broken now, a recording now diverges, or a limit passes what stops it
  2    the command line is wrong; nothing was read
  3    inconclusive: a search ended at a limit, or a rule is no longer relevant
  4    an input cannot be read
  70   internal fault of handfast
  130  interrupted (Ctrl-C)`;

export function compareOf(run: Run): Command {
  return new Command('compare')
    .summary('tell what an update changes, and whether it is safe')
    .description(
      'Compares two versions of a machine: the shortest sequence of events on which they answer differently, rules ' +
        'whose verdict changes, recordings that now diverge, and all that is written differently. A version is a ' +
        'machine (TypeScript, JavaScript, or a table in JSON), REV:path in git, or the word `bundled`.',
    )
    .argument('<before>', 'the version that runs today')
    .argument('<after>', 'the update')
    .addOption(new Option('--protocol <name>', 'of a bundled machine').choices(PROTOCOLS))
    .addOption(new Option('--side <side>', 'which side').choices(['vehicle', 'charger']))
    .option('--peer <file>', 'the other side, with which both are proved (default: bundled)')
    .option('--traces <path...>', 'recordings, or folders of them, to follow with both')
    .option('--faults <n>', 'faults a run may have, 0 to 2', wholeNumber(0, 2), 0)
    .option('--states <n>', 'stop after so many states', wholeNumber(1, 1e9), PROVE_LIMITS.states)
    .option(
      '--memory <MB>',
      'stop where the states would take more',
      wholeNumber(16, 1e6),
      PROVE_LIMITS.memory,
    )
    .option('--time <seconds>', 'stop after this time', wholeNumber(1, 86_400), PROVE_LIMITS.time)
    .addHelpText(
      'before',
      examples([
        ['compare release-12.ts release-13.ts', 'two files'],
        ['compare v1.2:machines/vehicle.ts machines/vehicle.ts', 'a tag, and what is here'],
        ['compare a.ts b.ts --traces recordings/', 'with recordings'],
      ]),
    )
    .addHelpText('after', `\n${COMPARE_EXITS}`)
    .action(async (before: string, after: string, _own, command: Command) => {
      const { compareCommand } = await import('./compare-command.ts');
      run.code = await compareCommand([before, after], command.optsWithGlobals(), run.io);
    });
}
