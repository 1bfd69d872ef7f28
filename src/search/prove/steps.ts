// A counterexample for people: its steps with their times, the message each sends, and what is different after it.
import type { MachineEvent } from '../../machine/convention.ts';
import type { Trace } from '../explore/trace.ts';
import type { Model, State } from '../model/form.ts';
import type { ProveStep } from './prove-result.ts';
import type { System } from './system.ts';

export const TICK = 'a quarter of a second passes';
const TICKS_A_SECOND = 4;

/** The steps that do something, and the last one; time is told with each of them. */
export function stepsOf({ initial, steps }: Trace, model: Model, system: System): ProveStep[] {
  const told: ProveStep[] = [];
  let ticks = 0;
  let before = viewOf(initial, model, system);
  for (const [index, { command, labels, state }] of steps.entries()) {
    if (command === TICK) ticks += 1;
    const after = viewOf(state, model, system);
    if (command === TICK && index < steps.length - 1) continue;
    const sent = messageOf(labels.message, system);
    told.push({
      at_s: ticks / TICKS_A_SECOND,
      what: command.replace(/, and sends$/, ''),
      from: sent?.from ?? null,
      message: sent === undefined ? null : messageWords(sent.example),
      changes: [...after].flatMap(([what, to]) => (before.get(what) === to ? [] : [{ what, to }])),
    });
    before = after;
  }
  return told;
}

function messageOf(label: string | number | undefined, { exchange }: System) {
  return typeof label === 'number' ? exchange.classes[label] : undefined;
}

/** A message with its facts; that a session is the right one goes without saying. */
function messageWords({ type, ...facts }: MachineEvent): string {
  const said = Object.entries(facts).filter(
    ([fact]) => fact !== 'session' || facts.session === 'foreign',
  );
  return `${type} ${said.map(([fact, value]) => `${fact} ${value}`).join(', ')}`.trim();
}

/** What of the state a reader is shown, in words; the rest is how the model remembers. */
const SHOWN: Readonly<Record<string, string>> = {
  contactor: 'contactor',
  welded: 'welded',
  lock: 'connector',
  pilot: 'pilot',
  output: 'charger output',
  volts: 'voltage',
  gate: 'gate',
  current: 'current',
  cells: 'cells',
  crash: 'crash signal',
  emergency_stop: 'emergency stop',
  weld: 'weld',
  link: 'connection',
};

function viewOf(state: State, model: Model, { exchange }: System): Map<string, string> {
  const view = new Map<string, string>();
  for (const [index, { name, names }] of model.variables.entries()) {
    const shown = SHOWN[name];
    if (shown !== undefined && names !== undefined) view.set(shown, names[state[index]!]!);
    if (name === 'consents') {
      const { vehicle, charger } = exchange.consents.states[state[index]!]!;
      view.set('vehicle consents to', vehicle).set('charger consents to', charger);
    }
    if (name === 'isolation') view.set('isolation', exchange.isolation.states[state[index]!]!);
  }
  return view;
}
