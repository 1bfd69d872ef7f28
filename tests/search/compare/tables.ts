// Small machines for comparisons, as table files.
import type { MachineTable } from '../../../src/machine/table.ts';
import { compileTable } from '../../../src/machine/table.ts';
import type { FileState, MachineFile } from '../../../src/machine/table-format.ts';
import { readTable } from '../../../src/machine/table-read.ts';

export function tableOf(
  states: Record<string, FileState>,
  more: Partial<Pick<MachineFile, 'events' | 'delays' | 'initial'>> = {},
): MachineTable {
  const file: MachineFile = {
    handfast: 'machine',
    version: 1,
    name: 'small',
    side: 'vehicle',
    protocol: 'din70121',
    events: { 'choose.next': {}, CableCheckRes: { code: ['ok', 'failed'] } },
    initial: { state: Object.keys(states)[0]! },
    states,
    ...more,
  };
  return compileTable(readTable(file, 'small.json'));
}
