// Recorders at both ends of the link. Where nothing is under way for long they see the same, and one is enough; a message
// that is late, lost or invented in between is seen by each when its own side could know of it, and each side is judged
// by its own recorder.
import type { AlarmObservation, Observation, Side as SideName } from '../../trace/observation.ts';
import { other } from '../../simulate/link.ts';
import type { Plant } from '../../simulate/plant.ts';
import { Recorder, type Untimed } from '../../simulate/recorder.ts';
import type { Plan } from './plan.ts';
import type { Message } from './wire.ts';

export interface Recorded {
  readonly vehicle: readonly Observation[];
  /** The same list where one recorder stands for both. */
  readonly charger: readonly Observation[];
}

const ADDRESSES = { vehicle: '02:00:5e:10:00:07', charger: '02:00:5e:20:00:03' } as const;

/** What only one side can know at once. */
const PARTS: ReadonlySet<string> = new Set(['delay', 'network', 'happen']);

export class Taps {
  readonly #at: Readonly<Record<SideName, Recorder>>;
  readonly #all: readonly Recorder[];

  constructor(plan: Plan, ratedVoltage_V: number) {
    const vehicle = new Recorder(ratedVoltage_V);
    const apart = plan.items.some((item) => PARTS.has(item.do));
    const charger = apart ? new Recorder(ratedVoltage_V) : vehicle;
    this.#at = { vehicle, charger };
    this.#all = apart ? [vehicle, charger] : [vehicle];
  }

  recorded(): Recorded {
    const [vehicle, charger] = [this.#at.vehicle.observations, this.#at.charger.observations];
    if (this.#all.length === 1) return { vehicle, charger };
    // The monitor is the charger's.
    return { vehicle: vehicle.filter(({ kind }) => kind !== 'isolation'), charger };
  }

  seen(at_ns: number, observation: Untimed): void {
    for (const recorder of this.#all) recorder.seen(at_ns, observation);
  }

  measure(plant: Plant, at_ns: number, all: boolean): void {
    for (const recorder of this.#all) recorder.measure(plant, at_ns, all);
  }

  sent(from: SideName, at_ns: number, message: Message, link: string): void {
    this.#packet(this.#at[from], from, at_ns, message, link);
  }

  arrived(to: SideName, at_ns: number, message: Message, link: string): void {
    if (this.#all.length > 1) this.#packet(this.#at[to], other(to), at_ns, message, link);
  }

  /** Beside its own side: the other cannot know of it. */
  alarm(side: SideName, at_ns: number, alarm: AlarmObservation['alarm'], says?: string): void {
    const words = says === undefined ? {} : { says };
    this.#at[side].seen(at_ns, { kind: 'alarm', side, alarm, ...words });
  }

  opened(at_ns: number, link: string): void {
    const ends = { vehicleAddress: ADDRESSES.vehicle, chargerAddress: ADDRESSES.charger };
    this.#link(at_ns, { kind: 'link', link, state: 'opened', says: 'connection opened', ...ends });
  }

  closed(from: SideName, at_ns: number, link: string): void {
    const says = `${from} closed the connection`;
    this.#link(at_ns, { kind: 'link', link, state: 'closed', from, says });
  }

  reset(at_ns: number, link: string): void {
    this.#link(at_ns, { kind: 'link', link, state: 'reset', says: 'connection lost' });
  }

  #link(at_ns: number, observation: Untimed): void {
    for (const recorder of this.#all) recorder.packet(at_ns, observation);
  }

  #packet(recorder: Recorder, from: SideName, at_ns: number, message: Message, link: string): void {
    const addresses = { sender: ADDRESSES[from], receiver: ADDRESSES[other(from)] };
    recorder.packet(at_ns, { kind: 'message', from, ...message, link, ...addresses });
  }
}
