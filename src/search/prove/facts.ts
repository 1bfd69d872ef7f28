// The facts of the rules as terms of the model, before and after one command.
import type { Facts } from '../../facts/vocabulary.ts';
import { safetyRules } from '../../rules/catalogue.ts';
import { judgingOrder } from '../../rules/catalogue.ts';
import type { Judgement, Rule } from '../../rules/rule.ts';
import type { Side } from '../../trace/observation.ts';
import { and, constant, ifThen, or, type Term } from '../model/build.ts';
import type { Value } from './change.ts';
import { ACTS, CONSENTS, type Memory } from './memory.ts';
import { fixed, ruleTree, treeTerm } from './rule-term.ts';
import type { FactTerm, FactTerms, MakeTable, RuleTree, Step } from './rule-term.ts';
import type { System } from './system.ts';

/** Rules whose facts are amounts, or signals that no machine here gives: a finite model cannot judge them. */
const NOT_MODELLED: ReadonlySet<string> = new Set([
  'within-limits',
  'follows-demand',
  'forward-only',
]);

export const modelledRules: readonly Rule[] = judgingOrder.filter(
  ({ id }) => !NOT_MODELLED.has(id),
);
export const unmodelledRules: readonly Rule[] = safetyRules.filter(({ id }) =>
  NOT_MODELLED.has(id),
);

/** What happens in one command, beside the variables it changes. */
export interface Happening {
  /** Index into ACTS of what the vehicle asks, and the charger grants, with a message sent by this command. */
  vehicleAct?: Term;
  chargerAct?: Term;
  /** 0 none, 1 this session, 2 another: of the message sent, and of the request it answers. */
  session?: Term;
  answers?: Term;
  /** 1: the demand sent asks for nothing; 2: for current. */
  asks?: Term;
  /** The contactor is still closed when the time after a crash signal is over. */
  crashIgnored?: Term;
  /** What happens opens contactors of itself. */
  emergency?: true;
  /** The vehicle demands although its duty to stop has run out. */
  vehicleIgnores?: Term;
  /** Current still flows where the charger's duty has just run out. */
  chargerIgnores?: Term;
  chargerSilent?: Term;
  vehicleSilent?: Term;
}

const zero = constant(0);
const SESSIONS = [null, 'this', 'foreign'] as const;

const among = (values: FactTerm['values'], index: Term): FactTerm => ({ values, index });

export function factTerms(
  system: System,
  memory: Memory,
  value: Value,
  happening: Happening,
): FactTerms {
  const { is } = system;
  const consents = value(is.consents);
  const volts = among(['safe', 'live'], value(is.volts));
  return {
    ...constantFacts,
    locked: among(['no', 'yes'], value(is.lock)),
    vehicleConsent: among(CONSENTS, memory.vehicleConsent.at(consents)),
    chargerConsent: among(CONSENTS, memory.chargerConsent.at(consents)),
    isolation: among(memory.isolationStates, value(is.isolation)),
    outputVoltage: volts,
    inletVoltage: volts,
    outputDriven: among(['no', 'yes'], driven(system, value)),
    gate: among(['outside', 'inside'], value(is.gate)),
    vehicleContactor: among(['open', 'closed'], value(is.contactor)),
    current: among(['none', 'flowing'], value(is.current)),
    link: among(['fresh', 'closed'], value(is.link)),
    asked: among(['unknown', 'nothing', 'current'], happening.asks ?? zero),
    cells: among(['within', 'over-voltage'], value(is.cells).eq(is.cells.value('pushed'))),
    vehicleAlarm: among(['none', 'emergency'], constant(happening.emergency === true)),
    crashDuty: among(['none', 'running', 'met', 'ignored'], crashDuty(system, value, happening)),
    weld: among(['unknown', 'stays'], value(is.weld).min(1)),
    weldTold: among(['no', 'yes'], value(is.weld).eq(is.weld.value('told'))),
    silent: among(['nobody', 'vehicle', 'charger'], silence(happening)),
    vehicleStop: among(
      DUTIES,
      duty(is.vehicleDue.gt(0), value(is.vehicleDue).gt(0), happening.vehicleIgnores),
    ),
    chargerStop: among(
      DUTIES,
      duty(is.chargerDue.gt(0), onItsWay(system, value), happening.chargerIgnores),
    ),
    vehicleAct: among(ACTS, happening.vehicleAct ?? zero),
    chargerAct: among(ACTS, happening.chargerAct ?? zero),
    session: among(SESSIONS, happening.session ?? zero),
    answers: among(SESSIONS, happening.answers ?? zero),
  };
}

const constantFacts = {
  plugged: fixed('unknown'),
  pilot: fixed('unknown'),
  chargerContactor: fixed('unknown'),
  reverse: fixed('no'),
  limits: fixed('unknown'),
  demand: fixed('unknown'),
  chargerAlarm: fixed('none'),
  whole: fixed(true),
};

function crashDuty({ is }: System, value: Value, { crashIgnored }: Happening): Term {
  const met = ifThen(value(is.contactor).eq(0), 2, 1);
  const kept = ifThen(value(is.crash).eq(0), 0, met);
  return crashIgnored === undefined ? kept : ifThen(crashIgnored, 3, kept);
}

/** The charger itself holds the output live: with the contactor closed it may be the battery. */
function driven({ is }: System, value: Value): Term {
  return and(value(is.volts).eq(1), value(is.contactor).eq(0), value(is.output).ne(0));
}

function silence({ chargerSilent, vehicleSilent }: Happening): Term {
  const vehicle = vehicleSilent === undefined ? zero : ifThen(vehicleSilent, 1, 0);
  return chargerSilent === undefined ? vehicle : ifThen(chargerSilent, 2, vehicle);
}

/** A duty that the charger has, or will have once it hears what is on its way. */
function onItsWay({ is, tables }: System, value: Value): Term {
  const wire = value(is.wire);
  const request = and(wire.ne(0), tables.isRequest.at(wire.minus(1).max(0)));
  const unheard = and(value(is.link).eq(1), value(is.chargerLink).eq(0));
  return or(value(is.chargerDue).gt(0), request, unheard);
}

const DUTIES = ['none', 'running', 'ignored', 'met'] as const;

/** One that ran before the command and does so no more is met. */
function duty(ran: Term, runs: Term, ignored: Term | undefined): Term {
  const state = ran === runs ? ifThen(runs, 1, 0) : ifThen(runs, 1, ifThen(ran, 3, 0));
  return ignored === undefined ? state : ifThen(ignored, 2, state);
}

/** The trees of one rule: where it is broken, and where it is relevant at all. */
export interface RuleTrees {
  readonly broken: RuleTree;
  /** Broken, but by no side that is judged here. */
  readonly residual: RuleTree;
  readonly relevant: RuleTree;
}

/** The trees of all rules of one model, grown once. */
export function ruleTrees(facts: FactTerms, alone?: Side): RuleTrees[] {
  const domains = Object.fromEntries(
    Object.entries(facts).map(([fact, { values }]) => [fact, values]),
  ) as { [K in keyof Facts]: FactTerm['values'] };
  return modelledRules.map((rule) => ({
    broken: ruleTree(rule, domains, (all) => all.some((one) => breaks(one) && judged(one, alone))),
    residual: ruleTree(
      rule,
      domains,
      (all) => all.some(breaks) && !all.some((one) => breaks(one) && judged(one, alone)),
    ),
    relevant: ruleTree(rule, domains, (all) => all.length > 0),
  }));
}

const breaks = ({ outcome }: Judgement): boolean => outcome === 'broken';

const judged = ({ owners }: Judgement, alone: Side | undefined): boolean =>
  alone === undefined || owners.includes(alone);

/** The rule a command breaks: 0 for none, else 1 + its index in `modelledRules`. */
export function brokenBy(trees: readonly RuleTrees[], step: Step, make: MakeTable): Term {
  let found: Term = zero;
  for (let index = trees.length - 1; index >= 0; index -= 1) {
    const when = treeTerm(trees[index]!.broken, step, make);
    if (when === false) continue;
    found = when === true ? constant(index + 1) : ifThen(when, index + 1, found);
  }
  return found;
}

export const RELEVANT = 'relevant';
export const RESIDUAL = 'residual';

/** Notes the rules that are relevant in a command, and those its peer breaks, each once. */
export function notesOf(
  trees: readonly RuleTrees[],
  step: Step,
  make: MakeTable,
): { set: string; at: number; when: Term }[] {
  return trees.flatMap(({ relevant, residual }, at) =>
    [
      { set: RELEVANT, when: treeTerm(relevant, step, make) },
      { set: RESIDUAL, when: treeTerm(residual, step, make) },
    ].flatMap(({ set, when }) =>
      when === false ? [] : [{ set, at, when: when === true ? constant(true) : when }],
    ),
  );
}
