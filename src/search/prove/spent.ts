// A side is spent in a state from which it can do nothing more that a rule is about: a charger that will never again make
// its output live, a vehicle that will never again ask for test, pre-charge or power, nor close its contactor.
import { ignores, type MachineTable, type TableOutput } from '../../machine/table.ts';

const ENERGISING = new Set(['CableCheckReq', 'PreChargeReq', 'CurrentDemandReq']);

function energises({ sends, drives }: TableOutput): boolean {
  const drive = drives.some(
    ({ what, to }) =>
      (what === 'output' && to !== 'off') || (what === 'contactors' && to === 'closed'),
  );
  const asks = sends.some(
    ({ message, progress }) =>
      ENERGISING.has(message) || (message === 'PowerDeliveryReq' && progress !== 'stop'),
  );
  return drive || asks;
}

/** Per state: 1 where nothing the machine can still do energises anything. */
export function spentStates(machine: MachineTable): number[] {
  const { states, inputs, outputs, next, output } = machine;
  const alive = new Uint8Array(states.length);
  let grew = true;
  while (grew) {
    grew = false;
    for (let state = 0; state < states.length; state += 1) {
      if (alive[state] === 1) continue;
      for (let input = 0; input < inputs.length; input += 1) {
        if (ignores(machine, state, input)) continue;
        const place = state * inputs.length + input;
        if (!energises(outputs[output[place]!]!) && alive[next[place]!] === 0) continue;
        alive[state] = 1;
        grew = true;
        break;
      }
    }
  }
  return [...alive].map((one) => 1 - one);
}
