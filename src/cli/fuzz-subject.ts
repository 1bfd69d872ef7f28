// The two sides of a campaign, from what the command line says of them.
import type { SessionProtocol } from '../protocols/index.ts';
import type { Party, Subject } from '../search/fuzz/subject.ts';
import { machinesOf } from './bundled-engine.ts';
import { UsageError } from './errors.ts';

/** Plain data: a worker thread is told the same. */
export interface SubjectWords {
  readonly protocol: SessionProtocol;
  readonly vehicle?: string | undefined;
  readonly charger?: string | undefined;
}

const EXEC = 'exec:';

/** Throws an InputError where a machine cannot be read or a program does not start. */
export async function subjectOf(words: SubjectWords): Promise<Subject> {
  const { protocol } = words;
  const bundled = await machinesOf(protocol);
  const vehicle = bundled.vehicle!;
  const charger = bundled.charger!;
  const party = async (side: 'vehicle' | 'charger'): Promise<Party> => {
    const told = words[side];
    if (told === undefined) return { machine: side === 'vehicle' ? vehicle : charger };
    if (told.startsWith(EXEC)) return program(told.slice(EXEC.length), side, protocol);
    const { loadMachine } = await import('../machine/load.ts');
    const machine = await loadMachine(told, side);
    if (machine.protocol === protocol) return { machine };
    throw new UsageError(`${told} speaks ${machine.protocol}, not ${protocol} (--protocol)`);
  };
  return {
    protocol,
    vehicle: await party('vehicle'),
    charger: await party('charger'),
    alphabets: { vehicle: vehicle.alphabet, charger: charger.alphabet },
  };
}

async function program(
  text: string,
  side: 'vehicle' | 'charger',
  protocol: SessionProtocol,
): Promise<Party> {
  const command = text.split(' ').filter((word) => word !== '');
  if (command.length === 0) throw new UsageError(`--${side} exec: names no program`);
  const { Program } = await import('../simulate/program.ts');
  const made = new Program({ command, side, protocol });
  made.open();
  return { program: made };
}
