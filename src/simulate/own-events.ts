// A side's choices and sensors as events: the facts its machine knows of them, as its control sees them now.
import type { MachineEvent, SideMachine } from '../machine/convention.ts';
import type { Control } from './control.ts';

type Domains = ReadonlyMap<string, readonly (readonly [string, readonly string[]])[]>;

/** Facts of each event with their values, listed once for each machine. */
const listed = new WeakMap<SideMachine, Domains>();

function domainsOf(machine: SideMachine): Domains {
  let known = listed.get(machine);
  if (known === undefined) {
    const entries = Object.entries(machine.alphabet);
    known = new Map(entries.map(([type, facts]) => [type, Object.entries(facts)]));
    listed.set(machine, known);
  }
  return known;
}

export function isOwn(type: string): boolean {
  return type.startsWith('choose.') || type.startsWith('sense.');
}

export class OwnEvents {
  private readonly domains: Domains;
  private readonly control: Control;
  /** Equal events are one object: a step is a look-up then. */
  private readonly known = new Map<string, MachineEvent>();

  constructor(machine: SideMachine, control: Control) {
    this.domains = domainsOf(machine);
    this.control = control;
  }

  /** `random`, from 0 to below 1, chooses a fact that the control knows nothing of; `wanted` goes before what is sensed. */
  of(
    type: string,
    at_ns: number,
    random: number,
    wanted: Readonly<Record<string, string>> = {},
  ): MachineEvent {
    const sensed = this.control.facts(type, at_ns);
    const event: { type: string; [fact: string]: string } = { type };
    let key = type;
    for (const [fact, domain] of this.domains.get(type) ?? []) {
      const value = wanted[fact] ?? sensed[fact];
      const place = Math.floor(random * domain.length);
      const known = value !== undefined && domain.includes(value) ? value : domain[place]!;
      event[fact] = known;
      key += `|${known}`;
    }
    let frozen = this.known.get(key);
    if (frozen === undefined) this.known.set(key, (frozen = Object.freeze(event)));
    return frozen;
  }
}
