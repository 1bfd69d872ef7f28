// The command line of what judges updates: `compare` two versions, or `gate` a whole project.
import { Command, Option } from 'commander';
import { withCheckFiles } from './check-files.ts';
import { examples } from './examples.ts';
import { wholeNumber } from './numbers.ts';
import { DEFAULT_FAULTS, PROVE_LIMITS } from './prove-options.ts';
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
        'machine (TypeScript, JavaScript, or a table in JSON), REV:path in git, or the word `bundled`. Or compares two ' +
        'parameter files (YAML or JSON): which limit moved, and what stops it before something is harmed.',
    )
    .argument('<before>', 'the version that runs today')
    .argument('<after>', 'the update')
    .addOption(new Option('--protocol <name>', 'of a bundled machine').choices(PROTOCOLS))
    .addOption(new Option('--side <side>', 'which side').choices(['vehicle', 'charger']))
    .option('--peer <file>', 'the other side, with which both are proved (default: bundled)')
    .option('--traces <path...>', 'recordings, or folders of them, to follow with both')
    .option('--faults <n>', 'faults a run may have, 0 to 2', wholeNumber(0, 2), DEFAULT_FAULTS)
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

const GATE_EXITS = `Exit codes:
  0    passed
  1    failed: a rule broken, a recording that diverges, coverage lost, a margin shrunk, an exception expired
  2    the command line or the project file is wrong; nothing was judged
  3    undecided: a rule became vacuous or inconclusive, or something is not in the baseline
  4    a recording or a machine cannot be read
  70   internal fault of handfast
  130  interrupted (Ctrl-C)`;

export function gateOf(run: Run): Command {
  return withCheckFiles(new Command('gate'))
    .summary('judge a project for CI, against its baseline')
    .description(
      'Reads a project file (handfast.project.ts, .js, .json or .yaml): replays its recordings, proves its machines, ' +
        'and compares rule verdicts, coverage and margins with the baseline kept beside it.',
    )
    .option('--project <file>', 'the project file (default: the one in this folder)')
    .option('--update', 'write the baseline anew, and tell what is different')
    .option('--identities', 'identifiers stay as they are in files that are written')
    .addHelpText(
      'before',
      examples([
        ['gate', 'the project of this folder'],
        ['gate --update', 'what is now, is right'],
        ['gate --junit gate.xml --sarif gate.sarif --markdown gate.md', 'for a CI server'],
      ]),
    )
    .addHelpText('after', `\n${GATE_EXITS}`)
    .action(async (_own, command: Command) => {
      const { gateCommand } = await import('./gate-command.ts');
      run.code = await gateCommand(command.optsWithGlobals(), run.io);
    });
}
