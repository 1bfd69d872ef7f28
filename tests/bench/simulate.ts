// A whole session in virtual time: both machines, link, sensors, plant and a pack of 400 cells, recorded. Simulated
// seconds a second on one core, against the same pack stepped alone as often as the plant steps it.
import { argv, cpuUsage } from 'node:process';
import { pathToFileURL } from 'node:url';
import { charger } from '../../machines/din70121/charger.ts';
import { vehicle } from '../../machines/din70121/vehicle.ts';
import { LFP_202_AH } from '../../src/physics/cell.ts';
import { Pack } from '../../src/physics/pack.ts';
import { runScenario } from '../../src/simulate/run-scenario.ts';
import { completeScenario } from '../../src/simulate/scenario.ts';

const CELLS = 400;
const SIMULATED_s = 300;
const ROUNDS = 3;
/** Sensors are read every 20 ms, and the pack goes no further in one step while they are. */
const STEP_s = 0.02;
/** Simulated seconds a second, at least. */
const FLOOR = 50;

const SCENARIO = completeScenario({
  protocol: 'din70121',
  duration_s: SIMULATED_s,
  vehicle: {
    pack: { cells: CELLS, parallel: 1, cell: 'lfp 202 Ah', stateOfCharge_percent: 20 },
  },
  charger: { ratedVoltage_V: 1500 },
});

function whole(): void {
  const { ended_ns } = runScenario(SCENARIO, { vehicle, charger });
  if (ended_ns < (SIMULATED_s - 1) * 1e9) throw new Error('the session ended early');
}

function packAlone(): void {
  const pack = new Pack({
    design: LFP_202_AH,
    cells: CELLS,
    stateOfCharge: 0.2,
    temperature_C: 25,
  });
  for (let at_s = 0; at_s < SIMULATED_s; at_s += STEP_s) pack.step(STEP_s, 150);
}

/** The best of some rounds, in seconds of processor time. */
function best_s(work: () => void): number {
  let best = Infinity;
  for (let round = 0; round < ROUNDS; round += 1) {
    const before = cpuUsage();
    work();
    const { user, system } = cpuUsage(before);
    best = Math.min(best, (user + system) / 1e6);
  }
  return best;
}

export async function run(): Promise<string[]> {
  const [session_s, pack_s] = [best_s(whole), best_s(packAlone)];
  const speed = SIMULATED_s / session_s;
  if (speed < FLOOR) throw new Error(`${speed.toFixed(0)} simulated s/s, at least ${FLOOR}`);
  const times = session_s / pack_s;
  return [
    `simulate: a session with ${CELLS} cells, ${speed.toFixed(0)} simulated s/s`,
    `simulate: ${times.toFixed(1)} times the time of its pack alone`,
  ];
}

if (argv[1] !== undefined && import.meta.url === pathToFileURL(argv[1]).href) {
  for (const line of await run()) console.log(line);
}
