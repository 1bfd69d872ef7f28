// Open-circuit voltage of a cell against its state of charge (0 … 1), as lines between printed points.
//
// openCircuitVoltage_V(curve, soc) and its inverse stateOfChargeAt(curve, voltage_V); openCircuitEnergy_V(curve, soc) is
// the integral from 0, in joules per coulomb of capacity. Beyond 0 and 1 the last line goes on: a cell charged too far
// shows a voltage above its table.
//
// All printed states of charge are whole percents, so a hundred lines hold every table exactly and the lookup is one
// multiplication: in the percent p, voltage = offset_V[j] + slope_V[j] · p with j = ⌊p⌋.

const LINES = 100;

export interface OpenCircuitCurve {
  readonly name: string;
  readonly offset_V: Float64Array;
  readonly slope_V: Float64Array;
  /** Integral of the voltage over the state of charge, from 0 to each whole percent. */
  readonly energy_V: Float64Array;
}

/** Points are [percent, volts], the percents whole and rising from 0 to 100, the volts rising. */
export function openCircuitCurve(name: string, points: [number, number][]): OpenCircuitCurve {
  const offset_V = new Float64Array(LINES);
  const slope_V = new Float64Array(LINES);
  const energy_V = new Float64Array(LINES + 1);
  const [first, last] = [points[0], points.at(-1)];
  if (first?.[0] !== 0 || last?.[0] !== LINES)
    throw new RangeError(`${name} must go from 0 to 100 %`);
  for (let i = 1; i < points.length; i += 1) {
    const [from, from_V] = points[i - 1]!;
    const [to, to_V] = points[i]!;
    if (!(Number.isInteger(to) && to > from && to_V > from_V)) {
      throw new RangeError(`${name} must rise by whole percents, ${from} % to ${to} % does not`);
    }
    const slope = (to_V - from_V) / (to - from);
    for (let j = from; j < to; j += 1) {
      slope_V[j] = slope;
      offset_V[j] = from_V - slope * from;
      energy_V[j + 1] = energy_V[j]! + (from_V + slope * (j + 0.5 - from)) / LINES;
    }
  }
  return { name, offset_V, slope_V, energy_V };
}

function line(percent: number): number {
  return percent < 0 ? 0 : percent >= LINES ? LINES - 1 : Math.floor(percent);
}

export function openCircuitVoltage_V(curve: OpenCircuitCurve, stateOfCharge: number): number {
  const percent = stateOfCharge * LINES;
  const j = line(percent);
  return curve.offset_V[j]! + curve.slope_V[j]! * percent;
}

/** What the cell stores above 0 %, per coulomb of its capacity. */
export function openCircuitEnergy_V(curve: OpenCircuitCurve, stateOfCharge: number): number {
  const j = line(stateOfCharge * LINES);
  const middle = (stateOfCharge + j / LINES) / 2;
  return curve.energy_V[j]! + (stateOfCharge - j / LINES) * openCircuitVoltage_V(curve, middle);
}

/** The state of charge at which a rested cell shows this voltage. */
export function stateOfChargeAt(curve: OpenCircuitCurve, voltage_V: number): number {
  let j = 0;
  while (j < LINES - 1 && curve.offset_V[j]! + curve.slope_V[j]! * (j + 1) < voltage_V) j += 1;
  return (voltage_V - curve.offset_V[j]!) / curve.slope_V[j]! / LINES;
}

/**
 * NMC811 against graphite with silicon oxide, 5 Ah: derived from the electrode fits and the cell of Chen et al. (2020),
 * J. Electrochem. Soc. 167, 080534 (confirmed), between 2.5 V and 4.2 V.
 */
export const NMC = openCircuitCurve('NMC811', [
  [0, 2.5],
  [1, 2.7114],
  [2, 2.8625],
  [5, 3.1094],
  [10, 3.2959],
  [15, 3.4339],
  [20, 3.4852],
  [25, 3.5286],
  [30, 3.5814],
  [35, 3.629],
  [40, 3.667],
  [45, 3.7054],
  [50, 3.7509],
  [55, 3.7983],
  [60, 3.8406],
  [65, 3.8896],
  [70, 3.9479],
  [75, 3.9943],
  [80, 4.0421],
  [85, 4.0809],
  [90, 4.0967],
  [95, 4.1236],
  [100, 4.2],
]);

/**
 * Lithium iron phosphate against graphite, 2.3 Ah: derived from the potential fit of Afshar et al. (2017),
 * arXiv:1709.03970 (confirmed) and the graphite of the curve above. On the plateau about 30 mV below real cells.
 */
export const LFP = openCircuitCurve('LFP', [
  [0, 2],
  [1, 2.2655],
  [2, 2.46],
  [5, 2.7853],
  [10, 2.9781],
  [15, 3.108],
  [20, 3.1685],
  [30, 3.2058],
  [40, 3.2525],
  [50, 3.266],
  [60, 3.2688],
  [70, 3.274],
  [80, 3.3097],
  [90, 3.3142],
  [95, 3.3164],
  [98, 3.35],
  [99, 3.4145],
  [100, 3.5984],
]);

/** The example record of the Modelica Standard Library's Electrical.Batteries (confirmed), as shares of 4.2 V. */
const MODEL_LIBRARY_SHARES: [number, number][] = [
  [0, 0.595],
  [1, 0.656],
  [2, 0.688],
  [3, 0.714],
  [4, 0.737],
  [5, 0.744],
  [6, 0.75],
  [7, 0.754],
  [8, 0.756],
  [9, 0.758],
  [10, 0.761],
  [15, 0.774],
  [20, 0.786],
  [25, 0.795],
  [30, 0.804],
  [35, 0.811],
  [40, 0.818],
  [45, 0.826],
  [50, 0.835],
  [55, 0.843],
  [60, 0.855],
  [65, 0.871],
  [70, 0.888],
  [75, 0.905],
  [80, 0.926],
  [85, 0.943],
  [90, 0.964],
  [95, 0.98],
  [100, 1],
];

export const MODEL_LIBRARY = openCircuitCurve(
  'model library',
  MODEL_LIBRARY_SHARES.map(([percent, share]) => [percent, share * 4.2]),
);
