// Deliberately broken machines: each is a bundled side with one plausible mistake in its chart, and the rule that must
// catch it. `faults` is how many faults of the plant or the link the mistake needs before it can hurt.
import type { Chart, Step, Steps } from '../../src/machine/chart.ts';
import { createSideMachine, drive, send } from '../../src/machine/chart.ts';
import type { SideMachine } from '../../src/machine/convention.ts';
import type { RuleId } from '../../src/rules/rule.ts';
import type { Side } from '../../src/trace/observation.ts';
import { machines } from './machines.ts';

export interface BrokenMachine {
  /** The mistake, in words. */
  readonly name: string;
  readonly protocol: 'din70121' | 'iso15118-2';
  readonly side: Side;
  readonly rule: RuleId;
  readonly faults: 0 | 1;
  make(): SideMachine;
}

/** A chart that may be changed. */
type Draft = {
  -readonly [K in keyof Chart]: K extends 'states' ? Record<string, Draft> : Chart[K];
};

function altered(whole: SideMachine, edit: (root: Draft) => void): SideMachine {
  const { id, context, ...chart } = whole.machine.config as unknown as Chart & {
    id: string;
    context?: Record<string, string>;
  };
  const draft = copy(chart) as Draft;
  edit(draft);
  const { side, protocol, alphabet, delays } = whole;
  const own = context === undefined ? {} : { context };
  return createSideMachine({ id, side, protocol, alphabet, delays, chart: draft as Chart, ...own });
}

/** Deep, but guards and computed outputs are kept as they are. */
function copy(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(copy);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, part]) => [key, copy(part)]));
}

/** The state at a path; a path that leads nowhere is a mistake of the test. */
function at(root: Draft, path: string): Draft {
  let state = root;
  for (const name of path.split('.')) {
    const below = (state.states as Record<string, Draft> | undefined)?.[name];
    if (below === undefined) throw new Error(`no state ${name} on the way to ${path}`);
    state = below;
  }
  return state;
}

function stepsFor(state: Draft, event: string): Step[] {
  const steps: Steps | undefined = state.on?.[event];
  if (steps === undefined) throw new Error(`no transition for ${event}`);
  if (typeof steps === 'string') return [{ target: steps }];
  return Array.isArray(steps) ? [...(steps as readonly Step[])] : [steps as Step];
}

function setSteps(state: Draft, event: string, steps: readonly Step[]): void {
  state.on = { ...state.on, [event]: steps };
}

const unguarded = ({ guard: _guard, ...step }: Step): Step => step;

function withoutTimer(state: Draft, timer: string): void {
  if (state.after?.[timer] === undefined) throw new Error(`no timer ${timer}`);
  const { [timer]: _gone, ...others } = state.after;
  state.after = others;
}

type Mistake = Omit<BrokenMachine, 'make'> & { edit: (root: Draft) => void };

const vehicleMistakes: Mistake[] = [
  {
    name: 'closes its contactor before the voltages match',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'gate-before-close',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'preparing.preCharge.approaching.decides');
      setSteps(state, 'choose.power', stepsFor(state, 'choose.power').map(unguarded));
    },
  },
  {
    name: 'forgets the result of the isolation test',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'isolation-first',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'preparing.cableCheck.testing.waits');
      const steps = stepsFor(state, 'CableCheckRes').map((step) =>
        step.target === 'decides' ? { ...step, target: '#vehicle.preparing.preCharge' } : step,
      );
      setSteps(state, 'CableCheckRes', steps);
    },
  },
  {
    name: 'ignores an emergency while it ramps',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'stop-means-stop',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'transfer.running.waits');
      const kept = stepsFor(state, 'CurrentDemandRes').filter(
        ({ target }) => target !== '#vehicle.stopNow.decides',
      );
      setSteps(state, 'CurrentDemandRes', kept);
    },
  },
  {
    name: 'resumes after an emergency or an isolation fault',
    protocol: 'iso15118-2',
    side: 'vehicle',
    rule: 'isolation-first',
    faults: 0,
    edit: (root) => {
      setSteps(at(root, 'stopNow.decides'), 'choose.next', [
        {
          target: 'waits',
          actions: [send({ message: 'CurrentDemandReq', session: 'this', demand: 'some' })],
        },
      ]);
    },
  },
  {
    name: 'misses the timeout in energy transfer',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'silence-is-no',
    faults: 0,
    edit: (root) =>
      withoutTimer(at(root, 'transfer.running.waits'), 'V2G_EVCC_Msg_Timeout_CurrentDemand'),
  },
  {
    name: 'opens its contactor on a flowing current',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'open-cold',
    faults: 0,
    edit: (root) => {
      for (const path of ['opening', 'failing.opening', 'over.opening']) {
        const state = at(root, path);
        setSteps(state, 'choose.open', stepsFor(state, 'choose.open').map(unguarded));
      }
    },
  },
  {
    name: 'unlocks a live inlet',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'cold-unlock',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'over.open');
      setSteps(state, 'choose.unlock', stepsFor(state, 'choose.unlock').map(unguarded));
    },
  },
  {
    name: 'ignores a crash',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'crash-isolates',
    faults: 1,
    edit: (root) => setSteps(root, 'signal.crash', []),
  },
  {
    name: 'says nothing of a welded contactor',
    protocol: 'iso15118-2',
    side: 'vehicle',
    rule: 'welded-told',
    faults: 1,
    edit: (root) => {
      setSteps(root, 'signal.weld', []);
      setSteps(at(root, 'over'), 'signal.weld', []);
    },
  },
  {
    name: 'goes on charging with its weakest cell at the limit',
    protocol: 'din70121',
    side: 'vehicle',
    rule: 'weakest-cell',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'transfer.running.decides');
      setSteps(state, 'choose.next', stepsFor(state, 'choose.next').map(unguarded));
    },
  },
  {
    name: 'asks for power again though renegotiation took the isolation test back',
    protocol: 'iso15118-2',
    side: 'vehicle',
    rule: 'isolation-first',
    faults: 0,
    edit: (root) => {
      const power = stepsFor(at(root, 'renegotiating.settled'), 'choose.power');
      setSteps(at(root, 'renegotiating.untestedSettled'), 'choose.power', power);
    },
  },
];

const chargerMistakes: Mistake[] = [
  {
    name: 'tests the isolation before the vehicle has asked for it',
    protocol: 'din70121',
    side: 'charger',
    rule: 'both-consent',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'preparing.cableCheck.ready');
      state.entry = [...(state.entry ?? []), drive('output', 'test')];
    },
  },
  {
    name: 'goes on delivering when a stop arrives',
    protocol: 'din70121',
    side: 'charger',
    rule: 'stop-means-stop',
    faults: 0,
    edit: (root) => {
      at(root, 'stopping').entry = [];
    },
  },
  {
    name: 'goes on delivering after its own emergency',
    protocol: 'din70121',
    side: 'charger',
    rule: 'both-consent',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'transfer.on.answers');
      setSteps(state, 'choose.answer', [stepsFor(state, 'choose.answer').at(-1)!]);
    },
  },
  {
    name: 'ignores a fault the vehicle tells',
    protocol: 'iso15118-2',
    side: 'charger',
    rule: 'both-consent',
    faults: 0,
    edit: (root) => {
      const state = at(root, 'transfer.on.expects');
      const kept = stepsFor(state, 'CurrentDemandReq').filter(
        ({ target }) => target !== '#charger.transfer.off.answers',
      );
      setSteps(state, 'CurrentDemandReq', kept);
    },
  },
  {
    name: 'takes no notice of a silent vehicle',
    protocol: 'din70121',
    side: 'charger',
    rule: 'silence-is-no',
    faults: 0,
    edit: (root) => withoutTimer(at(root, 'transfer.on.expects'), 'EVSE_Silence_While_Flowing'),
  },
  {
    name: 'goes on delivering after its emergency stop',
    protocol: 'din70121',
    side: 'charger',
    rule: 'stop-means-stop',
    faults: 1,
    edit: (root) => setSteps(root, 'signal.emergency', []),
  },
  {
    name: 'takes no notice of a pulled plug',
    protocol: 'din70121',
    side: 'charger',
    rule: 'stop-means-stop',
    faults: 1,
    edit: (root) => {
      setSteps(root, 'sense.pilot', []);
      for (const path of ['transfer.on', 'transfer.asked']) {
        for (const state of ['expects', 'answers']) {
          setSteps(at(root, `${path}.${state}`), 'sense.pilot', []);
        }
      }
    },
  },
  {
    name: 'stays live while it renegotiates',
    protocol: 'iso15118-2',
    side: 'charger',
    rule: 'both-consent',
    faults: 0,
    edit: (root) => {
      at(root, 'renegotiating').entry = [];
    },
  },
];

export const brokenMachines: readonly BrokenMachine[] = [
  ...vehicleMistakes,
  ...chargerMistakes,
].map(({ edit, ...told }) => ({
  ...told,
  make: () => altered(machines[told.protocol]![told.side], edit),
}));
