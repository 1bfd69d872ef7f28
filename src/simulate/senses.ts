// What a side knows at a moment: the last of everything it saw.
import type { AlarmObservation, PilotObservation } from '../trace/observation.ts';
import type { Sight } from './side.ts';

export interface Senses {
  link: 'none' | 'open' | 'closed';
  plug: 'in' | 'out' | null;
  lock: 'locked' | 'unlocked' | null;
  /** Of the vehicle. */
  contactor: 'open' | 'closed' | null;
  pilot: PilotObservation['state'] | null;
  battery_V: number | null;
  inlet_V: number | null;
  output_V: number | null;
  current_A: number | null;
  lowestCell_V: number | null;
  highestCell_V: number | null;
  hottest_C: number | null;
  coldest_C: number | null;
  stateOfCharge_percent: number | null;
  isolation_ohm: number | null;
  alarm: AlarmObservation['alarm'];
}

export function createSenses(): Senses {
  return {
    link: 'none',
    plug: null,
    lock: null,
    contactor: null,
    pilot: null,
    battery_V: null,
    inlet_V: null,
    output_V: null,
    current_A: null,
    lowestCell_V: null,
    highestCell_V: null,
    hottest_C: null,
    coldest_C: null,
    stateOfCharge_percent: null,
    isolation_ohm: null,
    alarm: 'none',
  };
}

/** Takes one sight in; a message changes nothing here. */
export function sense(senses: Senses, sight: Sight): void {
  switch (sight.kind) {
    case 'link':
      if (sight.state === 'opened') senses.link = 'open';
      else if (sight.state === 'closed' || sight.state === 'reset') senses.link = 'closed';
      return;
    case 'voltage':
      senses[`${sight.place}_V`] = sight.voltage_V;
      return;
    case 'current':
      senses.current_A = sight.current_A;
      return;
    case 'cells':
      senses.lowestCell_V = sight.lowest_V ?? senses.lowestCell_V;
      senses.highestCell_V = sight.highest_V ?? senses.highestCell_V;
      return;
    case 'battery':
      senses.stateOfCharge_percent = sight.stateOfCharge_percent;
      senses.hottest_C = sight.hottest_C;
      senses.coldest_C = sight.coldest_C;
      return;
    case 'isolation':
      senses.isolation_ohm = sight.resistance_ohm;
      return;
    default:
      switched(senses, sight);
  }
}

function switched(senses: Senses, sight: Sight): void {
  switch (sight.kind) {
    case 'pilot':
      senses.pilot = sight.state ?? senses.pilot;
      return;
    case 'plug':
      senses.plug = sight.state;
      return;
    case 'lock':
      senses.lock = sight.state;
      return;
    case 'contactor':
      if (sight.side === 'vehicle') senses.contactor = sight.state;
      return;
    case 'alarm':
      senses.alarm = sight.alarm;
      return;
    default:
  }
}
