// An update under judgement: how a machine's new version behaves, what was written differently, which rules' verdicts
// change with it, and which recordings it no longer explains.
import type { SideMachine } from '../../machine/convention.ts';
import { compileTable } from '../../machine/table.ts';
import { protocols } from '../../protocols/index.ts';
import type { SidePair } from '../../replay/conformance.ts';
import { InputError } from '../../trace/input-error.ts';
import type { Side } from '../../trace/observation.ts';
import { prove, type ProveOptions } from '../prove/prove.ts';
import type { Counterexample, ProveResult, RuleProof } from '../prove/prove-result.ts';
import { changesBetween, type Change } from './changes.ts';
import { compareBehaviour, type Behaviour } from './difference.ts';
import type { Recorded } from './recorded.ts';
import { followRecorded } from './recorded.ts';

export interface CompareOptions {
  readonly before: SideMachine;
  readonly after: SideMachine;
  /** The machine of the other side, with which both are proved. */
  readonly peer: SideMachine;
  /** Recordings followed with both. */
  readonly traces: readonly string[];
  readonly crashDeadline_ms: number;
  readonly search: Pick<ProveOptions, 'faults' | 'limits' | 'signal' | 'onProgress'>;
}

interface RuleChange {
  readonly rule: string;
  readonly before: RuleProof['verdict'];
  readonly after: RuleProof['verdict'];
  /** How the new version breaks it. */
  readonly counterexample: Counterexample | null;
}

/** One search of both sides, in short. */
type Proved = Pick<
  ProveResult,
  'verdict' | 'states' | 'transitions' | 'depth' | 'stoppedBy' | 'assumes'
>;

export interface Comparison {
  readonly schemaVersion: 1;
  readonly kind: 'machines';
  readonly protocol: string;
  readonly side: Side;
  /**
   * `equivalent`: no sequence of events tells them apart. `safe`: they differ, and no rule's verdict got worse nor does
   * a recording newly diverge. `unsafe`: a rule broken, or a recording that now diverges. `inconclusive`: a search ended
   * at a limit, or a rule is no longer relevant.
   */
  readonly verdict: 'equivalent' | 'safe' | 'unsafe' | 'inconclusive';
  readonly reasons: readonly string[];
  readonly behaviour: Behaviour;
  readonly changes: readonly Change[];
  /** Null where the two are equivalent: nothing can have changed. */
  readonly proofs: { readonly before: Proved; readonly after: Proved } | null;
  readonly rules: readonly RuleChange[];
  /** Rules of which both proofs say the same. */
  readonly unchanged: readonly { readonly rule: string; readonly verdict: RuleProof['verdict'] }[];
  readonly recorded: Recorded;
}

/** Throws an InputError when the two cannot be compared, or a recording cannot be read. */
export async function compareMachines(options: CompareOptions): Promise<Comparison> {
  const { before, after, peer } = options;
  checkComparable(before, after, peer);
  const tables = { before: compileTable(before), after: compileTable(after) };
  const behaviour = compareBehaviour(tables.before, tables.after);
  const proofs = behaviour.verdict === 'equivalent' ? null : await proveBoth(options);
  const recorded = await followRecorded({
    paths: options.traces,
    protocol: protocolOf(after),
    side: after.side,
    before: pairOf(before, peer),
    after: pairOf(after, peer),
    crashDeadline_ms: options.crashDeadline_ms,
  });
  const rules = proofs === null ? [] : ruleChanges(proofs.before, proofs.after);
  const { verdict, reasons } = judge(behaviour, proofs?.after ?? null, rules, recorded);
  return {
    schemaVersion: 1,
    kind: 'machines',
    protocol: after.protocol,
    side: after.side,
    verdict,
    reasons,
    behaviour,
    changes: changesBetween(tables.before, tables.after),
    proofs: proofs === null ? null : { before: brief(proofs.before), after: brief(proofs.after) },
    rules,
    unchanged: (proofs?.after.rules ?? [])
      .filter(({ rule }) => !rules.some((one) => one.rule === rule))
      .map(({ rule, verdict: both }) => ({ rule, verdict: both })),
    recorded,
  };
}

function checkComparable(before: SideMachine, after: SideMachine, peer: SideMachine): void {
  for (const what of ['side', 'protocol'] as const) {
    if (before[what] === after[what]) continue;
    throw new InputError(
      `the two machines are of different ${what}s: ${before[what]} and ${after[what]}`,
      {},
      'give two versions of one machine',
    );
  }
  if (peer.protocol !== after.protocol || peer.side === after.side) {
    const mend = `give a machine of the other side that speaks ${after.protocol}`;
    throw new InputError(`a ${peer.protocol} ${peer.side} is no peer for them`, {}, mend);
  }
}

type SessionProtocol = keyof typeof protocols;

function protocolOf({ protocol, machine }: SideMachine): SessionProtocol {
  if (protocol in protocols) return protocol as SessionProtocol;
  throw new InputError(
    `machine ${machine.id} speaks ${protocol}`,
    {},
    `machines of ${Object.keys(protocols).join(' and ')} can be compared`,
  );
}

function pairOf(machine: SideMachine, peer: SideMachine): SidePair {
  return machine.side === 'vehicle'
    ? { vehicle: machine, charger: peer }
    : { vehicle: peer, charger: machine };
}

async function proveBoth(
  options: CompareOptions,
): Promise<{ before: ProveResult; after: ProveResult }> {
  const one = (machine: SideMachine): Promise<ProveResult> =>
    prove({
      ...pairOf(machine, options.peer),
      protocol: protocols[protocolOf(machine)],
      ...options.search,
    });
  return { before: await one(options.before), after: await one(options.after) };
}

function brief({ verdict, states, transitions, depth, stoppedBy, assumes }: ProveResult): Proved {
  return { verdict, states, transitions, depth, stoppedBy, assumes };
}

function ruleChanges(before: ProveResult, after: ProveResult): RuleChange[] {
  return after.rules.flatMap(({ rule, verdict, counterexample }) => {
    const was = before.rules.find((one) => one.rule === rule)!.verdict;
    return was === verdict ? [] : [{ rule, before: was, after: verdict, counterexample }];
  });
}

function judge(
  behaviour: Behaviour,
  after: ProveResult | null,
  rules: readonly RuleChange[],
  { nowDiverge }: Recorded,
): Pick<Comparison, 'verdict' | 'reasons'> {
  const broken = rules
    .filter((one) => one.after === 'broken')
    .map(({ rule, before }) => `${rule} can be broken now (before: ${before})`);
  const diverging = nowDiverge.map(
    ({ file, frame, at, message }) =>
      `${file} at ${frame === null ? `${at} s` : `frame ${frame}`}: ${message} is no longer explained`,
  );
  if (broken.length + diverging.length > 0) {
    return { verdict: 'unsafe', reasons: [...broken, ...diverging] };
  }
  const open = rules
    .filter((one) => one.after === 'inconclusive' || one.after === 'vacuous')
    .map(({ rule, before, after: now }) => `${rule} is ${now} now (before: ${before})`);
  if (behaviour.verdict === 'inconclusive') open.push('the two were not compared to the end');
  if (after !== null && after.stoppedBy !== null && after.stoppedBy !== 'violation') {
    open.push(`the search of the new version stopped before its end (${after.stoppedBy})`);
  }
  if (open.length > 0) return { verdict: 'inconclusive', reasons: open };
  return { verdict: behaviour.verdict === 'equivalent' ? 'equivalent' : 'safe', reasons: [] };
}
