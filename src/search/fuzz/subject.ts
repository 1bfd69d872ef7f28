// What is tried: two sides, each a machine or a program in another language.
import { compileTable } from '../../machine/table.ts';
import type { FactDomains, SideMachine } from '../../machine/convention.ts';
import type { SessionProtocol } from '../../protocols/index.ts';
import type { Program } from '../../simulate/program.ts';
import type { Side as SideName } from '../../trace/observation.ts';
import { judge, messagesUntil, type Charge } from './judge.ts';
import { Liar } from './lies.ts';
import type { Plan } from './plan.ts';
import { plannedSide } from './planned.ts';
import { Reach, type Tables } from './reach.ts';
import { play, type Played } from './session.ts';

export type Party = { readonly machine: SideMachine } | { readonly program: Program };

export interface Subject {
  readonly protocol: SessionProtocol;
  readonly vehicle: Party;
  readonly charger: Party;
  /** The bundled machines: what a liar's peer may be told, and what a program stands in for. */
  readonly alphabets: Readonly<Record<SideName, { readonly [event: string]: FactDomains }>>;
}

/** What one plan came to. */
export interface Outcome {
  readonly charges: readonly Charge[];
  /** Numbers of what this runner reached here for the first time. */
  readonly news: readonly number[];
  readonly messages: number;
}

export class Runner {
  readonly tables: Tables;
  readonly reach: Reach;
  readonly #subject: Subject;

  constructor(subject: Subject) {
    this.#subject = subject;
    this.tables = { vehicle: tableOf(subject.vehicle), charger: tableOf(subject.charger) };
    this.reach = new Reach(this.tables);
  }

  run(plan: Plan): Outcome {
    this.reach.begin();
    const { played, faults } = this.play(plan);
    const counted = faults.map((fault) => ({
      ...fault,
      messages: messagesUntil(played[fault.seenBy], fault.at),
    }));
    const charges = [...counted, ...judge(plan, played, this.reach.onFact)];
    return { charges, news: this.reach.news(), messages: played.messages };
  }

  /** The recording of a plan, and what a program did that no side may do. */
  play(plan: Plan): { played: Played; faults: readonly Charge[] } {
    const { protocol, alphabets } = this.#subject;
    const faults: Charge[] = [];
    const played = play(plan, (name, director, session) => {
      const party = this.#subject[name];
      const side =
        'machine' in party
          ? plannedSide(party.machine, director, session, this.reach.onStep(name))
          : party.program.side(session, (at_ns, says) => {
              faults.push({
                rule: 'controller',
                owners: [name],
                says,
                at: at_ns / 1e9,
                seenBy: name,
                messages: 0,
              });
            });
      if (plan.liar !== name) return side;
      return new Liar(
        side,
        director,
        protocol,
        alphabets[name === 'vehicle' ? 'charger' : 'vehicle'],
      );
    });
    return { played, faults };
  }

  /** Ends the programs. */
  close(): void {
    const { vehicle, charger } = this.#subject;
    for (const party of [vehicle, charger]) if ('program' in party) party.program.close();
  }
}

function tableOf(party: Party): Tables['vehicle'] {
  return 'machine' in party ? compileTable(party.machine) : null;
}

/** Every deadline the two sides know, in milliseconds. */
export function delaysOf({ vehicle, charger }: Subject): number[] {
  const all = new Set<number>();
  for (const party of [vehicle, charger]) {
    if (!('machine' in party)) continue;
    for (const { ms } of Object.values(party.machine.delays)) all.add(ms);
  }
  return [...all].toSorted((a, b) => a - b);
}
