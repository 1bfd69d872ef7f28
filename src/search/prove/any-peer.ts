// A peer of which nothing is known: it may send any message, with any facts, whenever the other reads one, and drive its
// own power stage, contactors and lock as it likes. Against it a side is judged by its own duties only.
import { createSideMachine, drive, send, type Chart, type Steps } from '../../machine/chart.ts';
import type { FactDomains, SideMachine } from '../../machine/convention.ts';
import { compileTable, type MachineTable } from '../../machine/table.ts';
import { DRIVES, seenDrives } from './side-tables.ts';

/** Begins the names of what it may say. */
export const SAYS = 'choose.say ';

const isMessage = (type: string): boolean => type.endsWith('Req') || type.endsWith('Res');

/** Whatever may stand at the other end of the link of `of`; `heard` are the messages it may be sent, with their facts. */
export function anyPeer({ of }: MachineTable, heard: SideMachine['alphabet']): MachineTable {
  const side = of.side === 'vehicle' ? 'charger' : 'vehicle';
  const on: Record<string, Steps> = { 'link.closed': {} };
  for (const type of Object.keys(of.alphabet).filter(isMessage)) {
    on[`${SAYS}${type}`] = { actions: [send({ message: type })] };
  }
  for (const what of seenDrives[side]) {
    for (const to of DRIVES[what]) {
      on[`choose.${what} ${to.toLowerCase()}`] = { actions: [drive(what, to)] };
    }
  }
  const received = Object.entries(heard).filter(([type]) => isMessage(type));
  for (const [type] of received) on[type] = {};
  const chart: Chart = { initial: 'anything', states: { anything: { on } } };
  const alphabet: Record<string, FactDomains> = {};
  for (const type of Object.keys(on)) alphabet[type] = heard[type] ?? {};
  const peer: SideMachine = createSideMachine({
    id: `any ${side}`,
    side,
    protocol: of.protocol,
    delays: {},
    alphabet,
    chart,
  });
  return compileTable(peer);
}
