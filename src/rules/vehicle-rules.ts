// Rules about the vehicle's own duties: a crash opens the pack, the pack is run by its weakest cell, reverse current.
import { crashOpens_s, currentTolerance_A, reportedCurrentErrorFloor_A } from '../facts/figures.ts';
import type { Facts } from '../facts/vocabulary.ts';
import { broken, holds, unknown, type Judgement, type Rule, type Scene } from './rule.ts';
import { amperes, inFrame } from './words.ts';

function judgeCrash(_before: Facts, now: Facts): Judgement[] {
  if (now.crashDuty === 'ignored' || now.crashDuty === 'late') return [broken('crash', 'vehicle')];
  if (now.crashDuty === 'unobserved') return [unknown('crash')];
  return now.crashDuty === 'met' ? [holds('crash')] : [];
}

export const crashIsolates: Rule = {
  id: 'crash-isolates',
  class: 'safety',
  says: 'A crash signal opens the pack within its deadline, whatever the charger says.',
  owners: ['vehicle'],
  clause: 'project parameter, 100 ms unless told otherwise',
  needs: "the crash signal and a record of the vehicle's contactor",
  records: ['alarm'],
  figures: [crashOpens_s],
  followsFrom: [],
  witness: 'A crash alarm at 180 A and the contactor still closed 200 ms later.',
  judge: judgeCrash,
  tell: (_judgement, { extractor, reading }: Scene) => {
    const { crash } = extractor;
    const stays = crash.opened_ns === null || crash.closedAfter;
    const took_ms = ((stays ? reading.at_ns : crash.opened_ns!) - crash.signalled_ns!) / 1e6;
    const fate = crash.closedAfter ? 'closed' : stays ? 'was still closed' : 'opened only';
    return {
      says: `The vehicle's contactor ${fate} ${took_ms.toFixed(0)} ms after the crash signal${inFrame(crash.signalFrame)}.`,
      seen: `contactor ${stays ? 'closed' : 'opened'} ${took_ms.toFixed(0)} ms after the signal`,
      allowed: 'open within the crash deadline (project parameter, default 100 ms)',
      evidence: 'measured',
      confidence: crashOpens_s.confidence,
      clause: null,
    };
  },
};

const charges = (now: Facts): boolean => now.current === 'flowing' || now.current === 'low';

function judgeCells(_before: Facts, now: Facts): Judgement[] {
  if (now.cells === 'unknown' || !charges(now)) return [];
  if (now.cells === 'within') return [holds('cells')];
  return [broken(now.cells, 'vehicle')];
}

export const weakestCell: Rule = {
  id: 'weakest-cell',
  class: 'safety',
  says: 'No cell passes its voltage or temperature limit while current flows: a pack is charged by its weakest cell.',
  owners: ['vehicle'],
  clause: 'common practice of the trade; limits from the trace header',
  needs: 'cell voltages or temperatures and the limits of the pack in the trace header',
  records: ['cells', 'temperature'],
  figures: [],
  followsFrom: [],
  witness: 'One cell stands at 4.30 V of 4.25 V while the pack as a whole is within its limit.',
  judge: judgeCells,
  tell: ({ part }, { extractor }: Scene) => {
    const { current } = extractor.electrical;
    return {
      says: `Current of ${amperes(current?.value ?? 0)} went on with a cell beyond its limit (${part}).`,
      seen: `a cell ${part} while current flowed`,
      allowed: 'the vehicle asks for less, or stops, before its weakest cell passes a limit',
      evidence: 'measured',
      confidence: 'project default',
      clause: null,
    };
  },
};

function judgeForward(_before: Facts, now: Facts): Judgement[] {
  if (now.current === 'unknown' || now.current === 'none') return [];
  if (now.reverse === 'slight') {
    return [{ outcome: 'doubtful', part: 'reverse', owners: ['charger'] }];
  }
  return now.reverse === 'plain' ? [broken('reverse', 'charger')] : [holds('reverse')];
}

export const forwardOnly: Rule = {
  id: 'forward-only',
  class: 'safety',
  says: 'No reverse current beyond measuring error unless two-way power was agreed.',
  owners: ['charger'],
  clause: 'IEC 61851-23:2023, scope of System C (reverse power not specified)',
  needs: 'EVSEPresentCurrent or a current meter',
  figures: [currentTolerance_A, reportedCurrentErrorFloor_A],
  followsFrom: [],
  witness: 'CurrentDemandRes reports −12 A.',
  judge: judgeForward,
  tell: (judgement, { extractor }: Scene) => {
    const { current } = extractor.electrical;
    return {
      says: `Current flowed backwards: ${amperes(current?.value ?? 0)}${inFrame(current?.frame ?? null)}.`,
      seen: `${amperes(current?.value ?? 0)} at the output`,
      allowed: 'current into the vehicle only; two-way power was not agreed',
      evidence: current?.evidence ?? 'reported',
      confidence:
        judgement.outcome === 'doubtful' ? 'from memory, low' : currentTolerance_A.confidence,
      clause: 'IEC 61851-23:2023, scope of System C',
    };
  },
};
