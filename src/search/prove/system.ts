// The variables of the whole: both sides, the message between them, the link, the plant, what the rules remember.
import type { MachineTable } from '../../machine/table.ts';
import type { Dialect } from '../../protocols/system-c/dialect.ts';
import type { Side } from '../../trace/observation.ts';
import { ModelBuilder, type TableTerm, type Term, type VariableTerm } from '../model/build.ts';
import { spentTables, type Spent } from './spent.ts';
import { arrivalsOf, settled, type Arrival, type Arrivals } from './arrivals.ts';
import { ASKED } from './dialogue.ts';
import { exchangeBetween, type Exchange } from './exchange.ts';
import { sideTables, type SideTables } from './side-tables.ts';

/** What the system is made of before any command is added. */
export interface System {
  readonly builder: ModelBuilder;
  /** The side that is judged, by its own duties, where its peer may do anything. */
  readonly alone?: Side;
  readonly exchange: Exchange;
  readonly vehicle: SideTables;
  readonly charger: SideTables;
  readonly is: Variables;
  readonly clocks: Readonly<Record<Side, readonly VariableTerm[]>>;
  readonly tables: SystemTables;
  readonly ends: Spent;
  /** [consents] → what they count as once the charger is spent. */
  readonly spentConsents: TableTerm;
}

type Variables = ReturnType<typeof variablesOf>;

/** Longest duty of each kind, in ticks, with two values for none and run out. */
const DUTY_VALUES = 28;
/** Silence of the vehicle while current flows is counted up to this. */
export const QUIET_VALUES = 6;
const FAULTS_AT_MOST = 2;

function variablesOf(
  builder: ModelBuilder,
  machines: Record<Side, MachineTable>,
  exchange: Exchange,
  arrivals: Arrivals,
) {
  return {
    vehicle: builder.variable('vehicle', machines.vehicle.states.length),
    charger: builder.variable('charger', machines.charger.states.length),
    /** The one message in flight: 0 for none, else 1 + what is left of it (arrivals.ts). */
    wire: builder.variable('wire', arrivals.list.length + 1),
    link: builder.words('link', ['up', 'down']),
    /** Whether a side has taken notice that the link is down. */
    vehicleLink: builder.words('vehicle_link', ['open', 'closed']),
    chargerLink: builder.words('charger_link', ['open', 'closed']),

    contactor: builder.words('contactor', ['open', 'closed']),
    /** `stuck`: welded, and asked to open. */
    welded: builder.words('welded', ['no', 'welded', 'stuck']),
    /** A voltage that stays at the inlet: not noticed, noticed, told. */
    weld: builder.words('weld', ['unnoticed', 'noticed', 'told']),
    /** A crash signal, and whether the vehicle has taken notice of it. */
    crash: builder.words('crash', ['no', 'signalled', 'noticed']),
    /** The emergency stop of the charger, pressed and not noticed yet. */
    emergencyStop: builder.words('emergency_stop', ['no', 'pressed']),
    /** The weakest cell: at its limit; `pushed`: asked for more current all the same. */
    cells: builder.words('cells', ['within', 'full', 'pushed']),
    lock: builder.words('lock', ['unlocked', 'locked']),
    pilot: builder.words('pilot', ['B', 'C', 'A']),
    /** The pilot as the charger has last taken notice of it. */
    pilotSeen: builder.words('pilot_seen', ['B', 'C', 'A']),
    output: builder.words('output', ['off', 'test', 'precharge', 'on']),
    volts: builder.words('volts', ['safe', 'live']),
    gate: builder.words('gate', ['outside', 'inside']),
    current: builder.words('current', ['none', 'flowing']),
    /** What the last request that reached the charger asks for. */
    wants: builder.words('wants', ['none', 'some']),

    consents: builder.variable('consents', exchange.consents.states.length),
    isolation: builder.variable('isolation', exchange.isolation.states.length),
    asked: builder.words('asked', ASKED, 'other'),
    askedIn: builder.words('asked_in', ['this', 'foreign']),
    stopNow: builder.words('stop_now', ['no', 'yes']),
    /** Duties to stop: 0 for none, 1 run out, else 1 + ticks left. */
    vehicleDue: builder.variable('vehicle_due', DUTY_VALUES),
    chargerDue: builder.variable('charger_due', DUTY_VALUES),
    /** How long the vehicle may still wait for the answer to its last request, in the same way. */
    patience: builder.variable('patience', DUTY_VALUES),
    /** Ticks since the last request reached the charger, while current flows. */
    quiet: builder.variable('quiet', QUIET_VALUES),
    faults: builder.variable('faults', FAULTS_AT_MOST + 1),
    /** 0, or 1 + the rule that was broken first. */
    broken: builder.variable('broken', 32),
  };
}

interface SystemTables {
  /** [message × place] → what is left of the message once it is sent, and of that without its duty. */
  readonly arrival: TableTerm;
  readonly bare: TableTerm;
  /** [arrival] → the input of its receiver. */
  readonly inputOf: Readonly<Record<Side, TableTerm>>;
  /** [arrival] → whether it is a request, what it asks for, the duty it arms. */
  readonly isRequest: TableTerm;
  readonly demand: TableTerm;
  readonly duty: TableTerm;
  /** [receiver's state, wire] → the wire, as far as the receiver can still tell. */
  readonly settled: Readonly<Record<Side, TableTerm>>;
}

export function systemOf(
  machines: Record<Side, MachineTable>,
  dialect: Dialect,
  name: string,
  alone?: Side,
): System {
  const builder = new ModelBuilder(name);
  const exchange = exchangeBetween(machines.vehicle, machines.charger, dialect, alone);
  const vehicle = sideTables(builder, 'vehicle', machines.vehicle, exchange);
  const charger = sideTables(builder, 'charger', machines.charger, exchange);
  const arrivals = arrivalsOf(exchange);
  const is = variablesOf(builder, machines, exchange, arrivals);
  const clocks = (side: SideTables): VariableTerm[] =>
    side.clocks.map(({ variable, ticks, initial }) =>
      builder.variable(`${side.side}_${variable}`, ticks + 1, initial),
    );
  return {
    ...(alone === undefined ? {} : { alone }),
    builder,
    exchange,
    vehicle,
    charger,
    is,
    clocks: { vehicle: clocks(vehicle), charger: clocks(charger) },
    ends: spentTables(builder, machines, exchange, arrivals),
    spentConsents: builder.table(
      'spent_consents',
      [exchange.consents.states.length],
      exchange.spentConsents,
    ),
    tables: systemTables(builder, machines, arrivals),
  };
}

function systemTables(
  builder: ModelBuilder,
  machines: Record<Side, MachineTable>,
  arrivals: Arrivals,
): SystemTables {
  const { list, of, bare } = arrivals;
  const table = (name: string, value: (arrival: Arrival) => number): TableTerm =>
    builder.table(name, [list.length], list.map(value));
  const settledOf = (side: Side): TableTerm =>
    builder.table(
      `${side}_settled`,
      [machines[side].states.length, list.length + 1],
      settled(machines[side], side, arrivals),
    );
  return {
    arrival: builder.table('arrival', [of.length], of),
    bare: builder.table('bare', [list.length], bare),
    inputOf: {
      vehicle: table('vehicle_input_of', (one) => (one.from === 'charger' ? one.input : 0)),
      charger: table('charger_input_of', (one) => (one.from === 'vehicle' ? one.input : 0)),
    },
    isRequest: table('is_request', ({ from }) => Number(from === 'vehicle')),
    demand: table('arriving_demand', ({ demand }) => demand),
    duty: table('arriving_duty', ({ duty }) => duty),
    settled: { vehicle: settledOf('vehicle'), charger: settledOf('charger') },
  };
}

/** The message in flight; any where there is none. */
export const inFlight = ({ is }: System): Term => is.wire.minus(1).max(0);
