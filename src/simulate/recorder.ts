// The recorder at the charging interface: every message, every switch, and measurements as often as they change. Its
// meters are its own: what a side's broken sensor says is not what stands in the trace.
import type { Observation, Side as SideName } from '../trace/observation.ts';
import { other } from './link.ts';
import type { Plant } from './plant.ts';
import type { SendMessage } from './side.ts';

export const LINK = 'tcp:1';
/** Locally administered, of nobody. */
const ADDRESSES = { vehicle: '02:00:5e:10:00:07', charger: '02:00:5e:20:00:03' } as const;

/** A measurement is written again when it has moved by this, or to nothing, and at the latest after REPEATS_ns. */
const MOVES = { voltage_V: 4, current_A: 2, cell_V: 0.01, temperature_C: 0.5, isolation: 0.1 };
/** Volts and amperes by this share, where it is more. */
const SHARE = 0.08;
/** Temperatures and isolation are looked at so often. */
const SLOWLY_ns = 250_000_000;
/** Beyond 6 s a voltage counts as not known any more (src/facts/evidence.ts). */
const REPEATS_ns = 5_000_000_000;

type Without<T, K extends string> = T extends unknown ? Omit<T, K> : never;
export type Untimed = Without<Observation, 'at_ns' | 'frame'>;

interface Last {
  value: number;
  at_ns: number;
}

export class Recorder {
  readonly observations: Observation[] = [];
  private frame = 0;
  private nextSlow_ns = 0;
  private readonly ratedVoltage_V: number;
  private readonly last = new Map<string, Last>();

  constructor(ratedVoltage_V: number) {
    this.ratedVoltage_V = ratedVoltage_V;
  }

  opened(at_ns: number): void {
    this.packet(at_ns, {
      kind: 'link',
      link: LINK,
      state: 'opened',
      says: 'connection opened',
      vehicleAddress: ADDRESSES.vehicle,
      chargerAddress: ADDRESSES.charger,
    });
  }

  closed(at_ns: number, from: SideName): void {
    const says = `${from} closed the connection`;
    this.packet(at_ns, { kind: 'link', link: LINK, state: 'closed', from, says });
  }

  lost(at_ns: number): void {
    this.packet(at_ns, { kind: 'link', link: LINK, state: 'reset', says: 'connection lost' });
  }

  said(at_ns: number, from: SideName, sent: SendMessage): void {
    const { do: _, ...said } = sent;
    const addresses = { sender: ADDRESSES[from], receiver: ADDRESSES[other(from)] };
    this.packet(at_ns, { kind: 'message', from, ...said, link: LINK, ...addresses });
  }

  /** What a capture holds: messages and the connection, numbered. */
  packet(at_ns: number, observation: Untimed): void {
    this.frame += 1;
    this.observations.push({ ...observation, at_ns, frame: this.frame } as Observation);
  }

  seen(at_ns: number, observation: Untimed): void {
    this.observations.push({ ...observation, at_ns } as Observation);
  }

  /** Writes down what has moved; with `all` every voltage and current: a switch is about to move. */
  measure(plant: Plant, at_ns: number, all = false): void {
    const { pack, node_V, output_V, battery_V, current_A } = plant;
    const due = (name: string, value: number, moves: number): boolean =>
      this.due(name, value, moves, at_ns, all);
    // A voltage that is driven is followed closely: a contactor may close on it. One that falls by itself is not.
    const share = plant.stage.to === 'off' ? SHARE : 0;
    if (due('output', output_V, Math.max(MOVES.voltage_V, share * output_V))) {
      for (const [place, voltage_V] of [
        ['output', output_V],
        ['inlet', node_V],
      ] as const) {
        this.seen(at_ns, { kind: 'voltage', place, voltage_V: tidy(voltage_V, 1) });
      }
    }
    if (due('battery', battery_V, Math.max(MOVES.voltage_V, SHARE * battery_V))) {
      this.seen(at_ns, { kind: 'voltage', place: 'battery', voltage_V: tidy(battery_V, 1) });
    }
    if (due('current', current_A, Math.max(MOVES.current_A, SHARE * current_A))) {
      this.seen(at_ns, { kind: 'current', current_A: tidy(current_A, 2) });
    }
    if (due('cell', pack.highestCell_V, MOVES.cell_V)) {
      const [lowest_V, highest_V] = [tidy(pack.lowestCell_V, 3), tidy(pack.highestCell_V, 3)];
      this.seen(at_ns, { kind: 'cells', lowest_V, highest_V });
    }
    this.slow(plant, at_ns);
  }

  private slow(plant: Plant, at_ns: number): void {
    if (at_ns < this.nextSlow_ns) return;
    this.nextSlow_ns = at_ns + SLOWLY_ns;
    const due = (name: string, value: number, moves: number): boolean =>
      this.due(name, value, moves, at_ns, false);
    const { hottest_C } = plant.pack;
    if (due('temperature', hottest_C, MOVES.temperature_C)) {
      const temperature_C = tidy(hottest_C, 1);
      this.seen(at_ns, { kind: 'temperature', place: 'cell', temperature_C });
    }
    const { ratedVoltage_V } = this;
    const resistance_ohm = plant.isolation_ohm();
    if (due('isolation', Math.log(resistance_ohm), MOVES.isolation)) {
      const rounded = Math.round(resistance_ohm / 100) * 100;
      this.seen(at_ns, { kind: 'isolation', resistance_ohm: rounded, ratedVoltage_V });
    }
  }

  private due(name: string, value: number, moves: number, at_ns: number, all: boolean): boolean {
    const last = this.last.get(name);
    if (last !== undefined) {
      const moved = Math.abs(value - last.value) >= moves || (value === 0) !== (last.value === 0);
      const old = at_ns - last.at_ns >= REPEATS_ns || (all && last.at_ns < at_ns);
      if (!moved && !old) return false;
    }
    this.last.set(name, { value, at_ns });
    return true;
  }
}

function tidy(value: number, decimals: number): number {
  const scale = 10 ** decimals;
  return Math.round(value * scale) / scale;
}
