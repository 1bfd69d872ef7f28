// Both sides, the link and the plant in one virtual time. The same sides, settings and seed give the same trace.
import type { AlarmObservation, Observation, Side as SideName } from '../trace/observation.ts';
import type { Fault } from './faults.ts';
import { Link, other, type Delivery } from './link.ts';
import type { Plant } from './plant.ts';
import { LINK, Recorder } from './recorder.ts';
import { Sensors } from './sensors.ts';
import type { Output, Reaction, Side, Sight } from './side.ts';
import { strike } from './strike.ts';
import { batterySight, chargerSights, vehicleSights } from './sights.ts';

export interface SimulationOptions {
  readonly vehicle: Side;
  readonly charger: Side;
  readonly plant: Plant;
  readonly faults: readonly Fault[];
  readonly duration_s: number;
  readonly linkDelay_ms: number;
  /** From plugging in to the connection. */
  readonly connectsAfter_s: number;
  readonly ratedVoltage_V: number;
  /** How often sensors are read. */
  readonly sample_ms: number;
}

export interface SimulationResult {
  readonly observations: readonly Observation[];
  readonly ended_ns: number;
  readonly energy_Wh: number;
  readonly stateOfCharge_percent: number;
}

/** Charge and temperatures are read at every fifth sample. */
const SLOWER = 5;
const SOONEST_ns = 1000;
/** After both have ended it goes on for this long: the voltage falls, the lock opens. */
const SETTLES_ns = 3_000_000_000;

export function simulate(options: SimulationOptions): SimulationResult {
  return new Simulation(options).run();
}

class Simulation {
  private readonly options: SimulationOptions;
  private readonly plant: Plant;
  private readonly link: Link;
  private readonly sensors: Sensors;
  private readonly recorder: Recorder;
  private readonly wakes: Record<SideName, number> = { vehicle: 0, charger: 0 };
  private readonly faults: Fault[];
  private readonly sample_ns: number;
  private nextSample_ns = 0;
  private samples = 0;
  private connects_ns: number;
  private ended_ns: number | null = null;
  private seenPilot = '';
  /** Who has ended the connection. */
  private readonly gone = new Set<SideName>();
  private at_ns = 0;

  constructor(options: SimulationOptions) {
    this.options = options;
    this.plant = options.plant;
    this.link = new Link(options.linkDelay_ms);
    this.sensors = new Sensors(options.plant);
    this.recorder = new Recorder(options.ratedVoltage_V);
    this.faults = options.faults.toSorted((a, b) => a.at_s - b.at_s);
    this.sample_ns = Math.round(options.sample_ms * 1e6);
    this.connects_ns = Math.round(options.connectsAfter_s * 1e9);
  }

  run(): SimulationResult {
    this.begin();
    const end_ns = Math.round(this.options.duration_s * 1e9);
    for (;;) {
      const next_ns = this.next_ns();
      if (next_ns > end_ns) break;
      if (this.ended_ns !== null && next_ns > this.ended_ns + SETTLES_ns) break;
      this.advance(next_ns);
      this.happen();
    }
    const { pack, energy_Wh } = this.plant;
    return {
      observations: this.recorder.observations,
      ended_ns: this.at_ns,
      energy_Wh,
      stateOfCharge_percent: 100 * pack.stateOfCharge,
    };
  }

  private begin(): void {
    this.recorder.seen(0, { kind: 'plug', state: 'in' });
    for (const name of ['vehicle', 'charger'] as const) {
      this.act(name, this.options[name].start(0));
      this.show(name, [{ kind: 'plug', at_ns: 0, state: 'in' }]);
    }
    this.pilot();
    this.happen();
  }

  private next_ns(): number {
    const fault_ns = this.faults.length > 0 ? Math.round(this.faults[0]!.at_s * 1e9) : Infinity;
    return Math.min(
      this.plant.next_ns(),
      this.link.next_ns(),
      this.wakes.vehicle,
      this.wakes.charger,
      this.nextSample_ns,
      this.connects_ns,
      fault_ns,
    );
  }

  private advance(to_ns: number): void {
    const { plant, recorder } = this;
    const before = plant.contactors.state;
    const locked = plant.lock.state;
    const moves = plant.next_ns() <= to_ns;
    this.at_ns = Math.max(this.at_ns, to_ns);
    if (moves) {
      // Just before a switch moves, what it moves at is measured.
      plant.advance(to_ns - 1);
      if (plant.switches(to_ns)) recorder.measure(plant, to_ns - 1, true);
    }
    plant.advance(to_ns);
    if (moves) recorder.measure(plant, to_ns);
    const { contactors, lock } = plant;
    if (contactors.state !== before) {
      const seen = { kind: 'contactor', side: 'vehicle', state: contactors.state } as const;
      recorder.seen(to_ns, seen);
      this.show('vehicle', [{ ...seen, at_ns: to_ns }]);
    }
    if (lock.state !== locked) {
      const seen = { kind: 'lock', state: lock.state } as const;
      recorder.seen(to_ns, seen);
      this.show('vehicle', [{ ...seen, at_ns: to_ns }]);
    }
  }

  /** Everything that is due at this moment. */
  private happen(): void {
    const { at_ns, faults } = this;
    while (faults.length > 0 && faults[0]!.at_s * 1e9 <= at_ns) this.fail(faults.shift()!);
    if (this.connects_ns <= at_ns) this.connect();
    for (const delivery of this.link.arrived(at_ns)) this.deliver(delivery);
    if (this.nextSample_ns <= at_ns) this.sample();
    for (const name of ['vehicle', 'charger'] as const) {
      if (this.wakes[name] <= at_ns) this.show(name, []);
    }
    this.pilot();
  }

  private sample(): void {
    const { at_ns, plant, sensors, options } = this;
    this.nextSample_ns = at_ns + this.sample_ns;
    this.recorder.measure(plant, at_ns);
    const sights = vehicleSights(plant, sensors, at_ns);
    if (this.samples % SLOWER === 0) sights.push(batterySight(plant, at_ns));
    this.samples += 1;
    this.show('vehicle', sights);
    this.show('charger', chargerSights(sensors, options.ratedVoltage_V, at_ns));
  }

  private connect(): void {
    this.connects_ns = Infinity;
    this.link.state = 'open';
    this.recorder.opened(this.at_ns);
    this.showLink('opened', 'connection opened');
  }

  private showLink(state: 'opened' | 'closed', says: string): void {
    const sight = { kind: 'link', at_ns: this.at_ns, link: LINK, state, says } as const;
    for (const name of ['charger', 'vehicle'] as const) this.show(name, [sight]);
  }

  private deliver({ to, message, at_ns }: Delivery): void {
    if (message === null) {
      this.showLink('closed', 'connection closed');
      return;
    }
    const { do: _, ...said } = message;
    this.show(to, [{ kind: 'message', from: other(to), at_ns, link: LINK, ...said }]);
  }

  private show(name: SideName, sights: readonly Sight[]): void {
    this.act(name, this.options[name].observe(this.at_ns, sights));
  }

  private act(name: SideName, { outputs, wakeAt_ns }: Reaction): void {
    // A side that wants to be woken at once, again and again, would stop the time.
    this.wakes[name] = wakeAt_ns === null ? Infinity : Math.max(wakeAt_ns, this.at_ns + SOONEST_ns);
    for (const output of outputs) this.carry(name, output);
  }

  private carry(from: SideName, output: Output): void {
    const { at_ns } = this;
    switch (output.do) {
      case 'send':
        this.say(from, output);
        return;
      case 'alarm':
        this.alarm(from, output.alarm, output.says);
        return;
      case 'close':
        this.close(from);
        return;
      default:
        this.plant.command(output);
        if (output.do === 'pilot') this.pilot();
        if (output.do === 'output') this.recorder.measure(this.plant, at_ns);
    }
  }

  private say(from: SideName, output: Extract<Output, { do: 'send' }>): void {
    const { at_ns } = this;
    if (!this.link.send(from, at_ns, output)) return;
    this.recorder.measure(this.plant, at_ns);
    this.recorder.said(at_ns, from, output);
  }

  private close(from: SideName): void {
    const { at_ns, gone } = this;
    gone.add(from);
    if (!this.link.send(from, at_ns, null)) {
      // Over a dead connection nobody hears of it.
      if (gone.size === 2) this.ended_ns ??= at_ns;
      return;
    }
    this.recorder.closed(at_ns, from);
    this.link.state = 'closed';
    this.ended_ns ??= at_ns;
  }

  private alarm(side: SideName, alarm: AlarmObservation['alarm'], says?: string): void {
    const words = says === undefined ? {} : { says };
    this.recorder.seen(this.at_ns, { kind: 'alarm', side, alarm, ...words });
  }

  private pilot(): void {
    const { plant, at_ns } = this;
    const state = plant.pilot;
    const key = `${state}${plant.oscillator}`;
    if (key === this.seenPilot) return;
    this.seenPilot = key;
    const seen = { kind: 'pilot', state, pwm: plant.oscillator } as const;
    this.recorder.seen(at_ns, seen);
    for (const name of ['vehicle', 'charger'] as const) this.show(name, [{ ...seen, at_ns }]);
  }

  private fail(fault: Fault): void {
    const { plant, sensors, link } = this;
    strike(fault, {
      plant,
      sensors,
      alarm: (side, alarm, says) => {
        this.alarm(side, alarm, says);
        this.show(side, [{ kind: 'alarm', at_ns: this.at_ns, side, alarm }]);
      },
      silence: () => link.break(),
      disconnect: () => this.disconnect(),
      unplug: () => this.unplug(),
    });
  }

  private disconnect(): void {
    const { at_ns, link } = this;
    if (link.state !== 'open') return;
    link.break();
    link.state = 'closed';
    this.recorder.lost(at_ns);
    this.showLink('closed', 'connection lost');
    this.ended_ns ??= at_ns;
  }

  private unplug(): void {
    const { at_ns, plant } = this;
    plant.plugged = false;
    this.recorder.seen(at_ns, { kind: 'plug', state: 'out' });
    for (const name of ['vehicle', 'charger'] as const) {
      this.show(name, [{ kind: 'plug', at_ns, state: 'out' }]);
    }
    this.disconnect();
  }
}
