// The command line of `draw`.
import { Command, Option } from 'commander';
import { examples } from './examples.ts';
import { EXIT_HELP } from './exit.ts';
import { wholeNumber } from './numbers.ts';
import type { Run } from './run-state.ts';

const THEMES = ['auto', 'light', 'dark'] as const;
const FORMATS = ['svg', 'mermaid'] as const;

export function drawOf(run: Run, program: Command): Command {
  const draw = new Command('draw')
    .copyInheritedSettings(program)
    .helpCommand(false)
    .summary('draw a machine or the messages of a session, as SVG or Mermaid')
    .description(
      'Draws a machine, or the message sequence of a session, as SVG or as Mermaid text.',
    )
    .addHelpText(
      'before',
      examples([
        ['draw machine --side vehicle --out vehicle.svg', 'a bundled machine at a glance'],
        ['draw machine --side charger --only transfer --out transfer.svg', 'a part of it, whole'],
        ['draw machine --side vehicle --path session.pcapng --out way.svg', 'where a session went'],
        ['draw sequence session.pcapng --out session.svg', 'who said what, and what was found'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`);
  draw.addCommand(machineOf(run).copyInheritedSettings(draw));
  draw.addCommand(sequenceOf(run).copyInheritedSettings(draw));
  return draw;
}

function machineOf(run: Run): Command {
  return common(new Command('machine'))
    .summary('states and transitions of a machine')
    .description(
      'Draws the states of a machine and the transitions between them. A large machine is drawn as an overview, in ' +
        'which a box with a double edge has more inside; --only shows that part whole.',
    )
    .addOption(
      new Option('--protocol <name>', 'a bundled machine of this protocol (din70121)').choices([
        'din70121',
        'iso15118-2',
      ]),
    )
    .addOption(new Option('--side <side>', 'which side').choices(['vehicle', 'charger']))
    .option('--machine <file>', 'your own machine: TypeScript, JavaScript, or a table in JSON')
    .option('--only <state>', 'this state and what is in it: transfer.running')
    .option('--depth <n>', 'levels to show; 2 for a large machine', wholeNumber(0, 100))
    .option('--path <recordings...>', 'mark where these recordings went')
    .option('--proof <file>', 'mark what a proof reached (what `prove --json` printed)')
    .option('--session <id>', 'of --path, only this session of its recording')
    .addHelpText(
      'before',
      examples([
        ['draw machine --side vehicle --out vehicle.svg', 'at a glance'],
        ['draw machine --machine my.ts --path a.pcapng b.pcapng', 'what two recordings reached'],
        ['draw machine --side charger --format mermaid', 'as text for Markdown'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (_own, command: Command) => {
      const { drawMachineCommand } = await import('./draw-command.ts');
      run.code = await drawMachineCommand(command.optsWithGlobals(), run.io);
    });
}

function sequenceOf(run: Run): Command {
  return common(new Command('sequence'))
    .summary('messages of a session, with what was found')
    .description(
      'Draws who sent what and when, with repeats folded, what other recorders saw, and each finding after the message ' +
        'it is about.',
    )
    .argument('<recording>', 'a capture or trace')
    .option('--session <id>', 'which session, where there are several')
    .addHelpText(
      'before',
      examples([
        ['draw sequence session.pcapng --out session.svg', 'the only session'],
        ['draw sequence day.pcapng --session S2 --format mermaid', 'one of many, as text'],
      ]),
    )
    .addHelpText('after', `\n${EXIT_HELP}`)
    .action(async (recording: string, _own, command: Command) => {
      const { drawSequenceCommand } = await import('./draw-command.ts');
      run.code = await drawSequenceCommand(recording, command.optsWithGlobals(), run.io);
    });
}

function common(command: Command): Command {
  return command
    .option('--out <file>', 'write to this file instead of standard output')
    .addOption(new Option('--format <name>', 'what to write').choices(FORMATS).default('svg'))
    .addOption(
      new Option('--theme <name>', 'of SVG; auto follows the system of whoever looks')
        .choices(THEMES)
        .default('auto'),
    );
}
