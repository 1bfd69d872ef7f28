// `handfast export`: a machine as a table.
import type { SideMachine } from '../machine/convention.ts';
import { writeTable } from '../machine/table-write.ts';
import { compileTable } from '../machine/table.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import { count } from '../report/figures.ts';
import { json } from '../report/json.ts';
import { plain } from '../report/plain.ts';
import type { Side } from '../trace/observation.ts';
import { machinesOf } from './bundled-engine.ts';
import { UsageError } from './errors.ts';
import { EXIT } from './exit.ts';
import type { CommonOptions, Io } from './io.ts';
import { writeText } from './write-file.ts';

export interface ExportOptions extends CommonOptions {
  protocol?: SessionProtocol;
  side?: Side;
  machine?: string;
  out?: string;
}

export async function exportCommand(options: ExportOptions, io: Io): Promise<number> {
  const table = compileTable(await machineOf(options));
  const text = json(writeTable(table));
  if (options.out === undefined) {
    await io.stdout.write(text);
    return EXIT.holds;
  }
  await writeText(options.out, text);
  if (options.quiet !== true) {
    const { of, states, timers } = table;
    const size = `${count(states.length, 'state')}, ${count(timers.length, 'timer')}`;
    const name = of.machine.id === of.side ? '' : ` ${of.machine.id}`;
    const whose = `the ${of.protocol} ${of.side}${name}`;
    await io.stdout.write(`${plain(`${options.out}: ${whose}, ${size}`)}\n`);
  }
  return EXIT.holds;
}

async function machineOf({ protocol, side, machine }: ExportOptions): Promise<SideMachine> {
  if (machine !== undefined) {
    if (protocol !== undefined) throw new UsageError('a --machine says its protocol itself');
    const { loadMachine } = await import('../machine/load.ts');
    return loadMachine(machine, side);
  }
  if (protocol === undefined || side === undefined) {
    throw new UsageError('name a bundled machine by --protocol and --side, or a --machine');
  }
  return (await machinesOf(protocol))[side];
}
