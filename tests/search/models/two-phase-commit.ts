// Two-phase commit after Gray and Lamport, "Consensus on Transaction Commit" (2004), as the TLA+ module TwoPhase that is
// published with it: resource managers, a transaction manager, and the set of all messages ever sent.
import { ModelBuilder, and } from '../../../src/search/model/build.ts';
import type { Model } from '../../../src/search/model/form.ts';

export function twoPhaseCommit(managers: number): Model {
  const m = new ModelBuilder(`two-phase commit of ${managers}`);
  const all = Array.from({ length: managers }, (_, i) => i);
  const tm = m.words('tm', ['init', 'committed', 'aborted']);
  const rm = all.map((i) => m.words(`rm${i}`, ['working', 'prepared', 'committed', 'aborted']));
  const tmPrepared = all.map((i) => m.variable(`tmPrepared${i}`, 2));
  const sentPrepared = all.map((i) => m.variable(`sentPrepared${i}`, 2));
  const sentCommit = m.variable('sentCommit', 2);
  const sentAbort = m.variable('sentAbort', 2);
  m.command('TMCommit', {
    guard: and(tm.is('init'), ...tmPrepared.map((prepared) => prepared.eq(1))),
    set: [tm.to('committed'), sentCommit.to(1)],
  });
  m.command('TMAbort', { guard: tm.is('init'), set: [tm.to('aborted'), sentAbort.to(1)] });
  for (const i of all) {
    m.command(`TMRcvPrepared(${i})`, {
      guard: and(tm.is('init'), sentPrepared[i]!.eq(1)),
      set: [tmPrepared[i]!.to(1)],
    });
    m.command(`RMPrepare(${i})`, {
      guard: rm[i]!.is('working'),
      set: [rm[i]!.to('prepared'), sentPrepared[i]!.to(1)],
    });
    m.command(`RMChooseToAbort(${i})`, {
      guard: rm[i]!.is('working'),
      set: [rm[i]!.to('aborted')],
    });
    m.command(`RMRcvCommitMsg(${i})`, { guard: sentCommit, set: [rm[i]!.to('committed')] });
    m.command(`RMRcvAbortMsg(${i})`, { guard: sentAbort, set: [rm[i]!.to('aborted')] });
    for (const j of all.slice(i + 1)) {
      m.invariant(
        `consistent(${i}, ${j})`,
        and(rm[i]!.is('committed'), rm[j]!.is('aborted'))
          .or(and(rm[i]!.is('aborted'), rm[j]!.is('committed')))
          .not(),
      );
    }
  }
  return m.build();
}
