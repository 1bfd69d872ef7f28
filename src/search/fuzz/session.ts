// One plan played: both sides, the link and a light plant in virtual time, with all that the plan lets happen. The same
// plan and sides give the same recording. What a simulation has and this has not is physics in detail; what this has and
// a simulation has not is faults at any message, sides that start anew, and a recorder beside each side.
import type { Side as SideName, TraceHeader } from '../../trace/observation.ts';
import { chargerSights, vehicleSights } from '../../simulate/sights.ts';
import { other } from '../../simulate/link.ts';
import type { Plant } from '../../simulate/plant.ts';
import { SENSOR_NAMES, Sensors } from '../../simulate/sensors.ts';
import type { Output, Reaction, Side, Sight } from '../../simulate/side.ts';
import { Director } from './director.ts';
import { FullPack } from './full-pack.ts';
import { CELL_LIMIT_V, HEADER, ordinaryPlant, RATED_V } from './ordinary.ts';
import { Agenda, type Event, type SensorItem } from './agenda.ts';
import type { Happening, Plan } from './plan.ts';
import { valuesOf } from './sight-values.ts';
import { Taps, type Recorded } from './taps.ts';
import { Wire } from './wire.ts';

/** A side of one session; `session` counts from 0, also where a side starts anew in one. */
export type MakeSide = (name: SideName, director: Director, session: number) => Side;

export interface Played extends Recorded {
  readonly header: TraceHeader;
  readonly messages: number;
}

/** A session may wait for its longest timer once (150 s, DIN SPEC 70121 9.6), and is over long before. */
const LONGEST_ns = 400e9;
const MOST_MESSAGES = 600;
/** How often sensors are read while something moves, and while nothing does. */
const MOVING_ns = 20_000_000;
const RESTING_ns = 250_000_000;
const RECONNECTS_ns = 1_000_000_000;
const SIDES = ['vehicle', 'charger'] as const;

export function play(plan: Plan, make: MakeSide): Played {
  const session = new Session(plan, make);
  session.run();
  return session.played();
}

class Session {
  private readonly director: Director;
  private readonly make: MakeSide;
  private readonly pack = new FullPack(CELL_LIMIT_V);
  private readonly plant: Plant;
  private readonly sensors: Sensors;
  private readonly taps: Taps;
  private readonly agenda: Agenda;
  private wire: Wire;
  private sides: Record<SideName, Side>;
  private readonly wakes: Record<SideName, number> = { vehicle: 0, charger: 0 };
  private readonly shown: Record<SideName, string> = { vehicle: '', charger: '' };
  private count = 0;
  private messages = 0;
  private connects_ns = 0;
  private nextSample_ns = 0;
  private seenPilot = '';
  private last = '';
  /** No other session may follow this one. */
  private barred = false;
  private crashed = false;
  private at_ns = 0;

  constructor(plan: Plan, make: MakeSide) {
    this.director = new Director(plan);
    this.make = make;
    this.plant = ordinaryPlant(plan, this.pack);
    this.sensors = new Sensors(this.plant);
    this.taps = new Taps(plan, RATED_V);
    this.agenda = new Agenda(plan);
    this.wire = new Wire(this.director, 0);
    this.sides = this.newSides();
  }

  played(): Played {
    return { header: HEADER, messages: this.messages, ...this.taps.recorded() };
  }

  run(): void {
    this.taps.seen(0, { kind: 'plug', state: 'in' });
    for (const name of SIDES) this.start(name);
    this.agenda.after(0, 0);
    while (this.messages < MOST_MESSAGES) {
      const next_ns = Math.max(this.at_ns, this.next_ns());
      if (next_ns > LONGEST_ns) return;
      this.advance(next_ns);
      this.happen();
    }
  }

  private newSides(): Record<SideName, Side> {
    const { director, count, make } = this;
    return {
      vehicle: make('vehicle', director, count),
      charger: make('charger', director, count),
    };
  }

  private start(name: SideName): void {
    this.shown[name] = '';
    this.act(name, this.sides[name].start(this.at_ns));
    this.show(name, [
      { kind: 'plug', at_ns: this.at_ns, state: this.plant.plugged ? 'in' : 'out' },
    ]);
    this.show(name, [this.pilotSight()]);
  }

  private next_ns(): number {
    const { wakes, plant, wire } = this;
    let next_ns = Math.min(plant.next_ns(), wire.next_ns(), wakes.vehicle, wakes.charger);
    next_ns = Math.min(next_ns, this.agenda.next_ns(), this.connects_ns);
    // Nothing moves and nobody waits: another session begins, or it is over.
    if (next_ns === Infinity && this.nextSample_ns === Infinity) return this.again();
    return Math.min(next_ns, this.nextSample_ns);
  }

  private again(): number {
    if (this.barred || this.count + 1 >= this.director.plan.sessions) return Infinity;
    this.count += 1;
    this.sides = this.newSides();
    this.wire = new Wire(this.director, this.count);
    for (const name of SIDES) this.start(name);
    this.connects_ns = this.at_ns + RECONNECTS_ns;
    return this.connects_ns;
  }

  private advance(to_ns: number): void {
    const { plant, taps } = this;
    const before = plant.contactors.state;
    const locked = plant.lock.state;
    // Just before a switch moves, what it moves at is measured.
    const moves = plant.next_ns() === to_ns;
    this.at_ns = to_ns;
    if (moves) {
      plant.advance(to_ns - 1);
      taps.measure(plant, to_ns - 1, true);
    }
    plant.advance(to_ns);
    if (plant.contactors.state !== before) {
      const seen = { kind: 'contactor', side: 'vehicle', state: plant.contactors.state } as const;
      taps.seen(to_ns, seen);
      this.soon();
      this.show('vehicle', [{ ...seen, at_ns: to_ns }]);
    }
    if (plant.lock.state !== locked) {
      const seen = { kind: 'lock', state: plant.lock.state } as const;
      taps.seen(to_ns, seen);
      this.show('vehicle', [{ ...seen, at_ns: to_ns }]);
    }
  }

  private happen(): void {
    const { at_ns } = this;
    for (const event of this.agenda.due(at_ns)) this.befall(event);
    if (this.connects_ns <= at_ns) this.connect();
    for (const { to, message } of this.wire.arrived(at_ns)) {
      if (message === null) this.showLink(to, 'closed', 'connection closed');
      else {
        this.taps.arrived(to, at_ns, message, this.wire.name);
        this.show(to, [
          { ...message, kind: 'message', from: other(to), at_ns, link: this.wire.name },
        ]);
      }
    }
    // Who acts looks at its meters first.
    const acts = SIDES.some((name) => this.wakes[name] <= at_ns);
    if (acts || this.nextSample_ns <= at_ns) this.sample();
    for (const name of SIDES) if (this.wakes[name] <= at_ns) this.show(name, []);
    this.pilot();
  }

  private sample(): void {
    const { at_ns, plant, sensors } = this;
    this.taps.measure(plant, at_ns, false);
    const now = `${plant.node_V.toFixed(1)} ${plant.current_A.toFixed(1)}`;
    const moves = now !== this.last;
    this.last = now;
    const live = plant.current_A > 0 || this.wire.state === 'open';
    this.nextSample_ns = moves ? at_ns + MOVING_ns : live ? at_ns + RESTING_ns : Infinity;
    this.showNew('vehicle', vehicleSights(plant, sensors, at_ns));
    this.showNew('charger', chargerSights(sensors, RATED_V, at_ns));
  }

  /** Sensors are told of when one of them reads another value. */
  private showNew(name: SideName, sights: readonly Sight[]): void {
    const key = valuesOf(sights);
    if (key === this.shown[name]) return;
    this.shown[name] = key;
    this.show(name, sights);
  }

  private connect(): void {
    this.connects_ns = Infinity;
    this.wire.state = 'open';
    this.taps.opened(this.at_ns, this.wire.name);
    for (const name of ['charger', 'vehicle'] as const) {
      this.showLink(name, 'opened', 'connection opened');
    }
  }

  private showLink(name: SideName, state: 'opened' | 'closed', says: string): void {
    this.show(name, [{ kind: 'link', at_ns: this.at_ns, link: this.wire.name, state, says }]);
  }

  private show(name: SideName, sights: readonly Sight[]): void {
    this.act(name, this.sides[name].observe(this.at_ns, sights));
  }

  private act(name: SideName, { outputs, wakeAt_ns }: Reaction): void {
    // A side that wants to be woken in the past would stop the time.
    this.wakes[name] = wakeAt_ns === null ? Infinity : Math.max(wakeAt_ns, this.at_ns + 1);
    for (const output of outputs) this.carry(name, output);
  }

  private carry(from: SideName, output: Output): void {
    const { at_ns, plant } = this;
    switch (output.do) {
      case 'send': {
        const { do: _, ...message } = output;
        if (!this.wire.send(from, at_ns, message)) return;
        this.taps.sent(from, at_ns, message, this.wire.name);
        if (this.pack.full && from === 'vehicle') this.pack.heed(message);
        this.messages += 1;
        this.agenda.after(this.messages, at_ns);
        return;
      }
      case 'alarm':
        this.taps.alarm(from, at_ns, output.alarm, output.says);
        return;
      case 'close':
        if (this.wire.state !== 'open') return;
        this.wire.close(from, at_ns);
        this.taps.closed(from, at_ns, this.wire.name);
        return;
      default:
        plant.command(output);
        this.soon();
        if (output.do === 'pilot') this.pilot();
        if (output.do === 'output') this.taps.measure(plant, at_ns, false);
    }
  }

  private soon(): void {
    this.nextSample_ns = Math.min(this.nextSample_ns, this.at_ns + MOVING_ns / 2);
  }

  private pilotSight(): Extract<Sight, { kind: 'pilot' }> {
    const { pilot: state, oscillator: pwm } = this.plant;
    return { kind: 'pilot', at_ns: this.at_ns, state, pwm };
  }

  private pilot(): void {
    const sight = this.pilotSight();
    const key = `${sight.state}${sight.pwm}`;
    if (key === this.seenPilot) return;
    this.seenPilot = key;
    const { at_ns, ...seen } = sight;
    this.taps.measure(this.plant, at_ns, false);
    this.taps.seen(at_ns, seen);
    for (const name of SIDES) this.show(name, [sight]);
  }

  private befall(event: Event): void {
    if ('sensor' in event) this.breakSensor(event.sensor);
    else this.befalls(event.what);
    this.soon();
  }

  private befalls(what: Happening): void {
    const { plant } = this;
    switch (what) {
      case 'connection lost':
        return this.disconnect();
      case 'plug pulled':
        plant.plugged = false;
        this.barred = true;
        return this.taps.seen(this.at_ns, { kind: 'plug', state: 'out' });
      case 'contactor welds':
        if (this.crashed) return;
        this.barred = true;
        plant.contactors.stuck = plant.contactors.state;
        return;
      case 'crash':
        // No vehicle can isolate its pack by a contactor that is welded.
        if (plant.contactors.stuck !== null) return;
        this.barred = true;
        this.crashed = true;
        return this.alarm('vehicle', 'crash', true);
      case 'emergency stop':
        return this.alarm('charger', 'emergency', true);
      case 'operator stops at the vehicle':
        return this.alarm('vehicle', 'stop asked', false);
      case 'operator stops at the charger':
        return this.alarm('charger', 'stop asked', false);
      case 'weakest cell full':
        this.pack.full = true;
        return;
      case 'isolation warning':
        return plant.driftIsolation(300 * RATED_V, 0);
      case 'isolation fault':
        return plant.driftIsolation(50 * RATED_V, 0);
      case 'vehicle restarts':
        return this.restart('vehicle');
      case 'charger restarts':
        return this.restart('charger');
    }
  }

  /** An operator's wish is the side's own matter; a crash and an emergency stop are seen by who records them. */
  private alarm(side: SideName, alarm: 'crash' | 'emergency' | 'stop asked', seen: boolean): void {
    this.taps.measure(this.plant, this.at_ns, true);
    if (seen) this.taps.alarm(side, this.at_ns, alarm);
    this.show(side, [{ kind: 'alarm', at_ns: this.at_ns, side, alarm }]);
  }

  private disconnect(): void {
    if (this.wire.state !== 'open') return;
    this.wire.break();
    this.taps.measure(this.plant, this.at_ns, true);
    this.taps.reset(this.at_ns, this.wire.name);
    for (const name of SIDES) this.showLink(name, 'closed', 'connection lost');
  }

  /** Without power its coils and its stage fall back; then it starts anew and knows nothing of the session. */
  private restart(name: SideName): void {
    const { plant, at_ns } = this;
    if (name === 'vehicle') {
      this.taps.alarm('vehicle', at_ns, 'emergency', 'it lost its power');
      plant.command({ do: 'contactors', to: 'open' });
      plant.command({ do: 'pilot', to: 'B' });
    } else plant.command({ do: 'output', to: 'off', voltage_V: 0, current_A: 0 });
    this.sides[name] = this.make(name, this.director, this.count);
    this.disconnect();
    this.start(name);
    this.pilot();
  }

  private breakSensor({ which, how }: SensorItem): void {
    const own = SENSOR_NAMES.filter((sensor) => sensor.startsWith(this.director.plan.liar ?? '-'));
    const sensor = own[which % Math.max(1, own.length)];
    if (sensor !== undefined) this.sensors.break(sensor, how === 'drifts' ? { more: 25 } : how);
  }
}
