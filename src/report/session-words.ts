// What a session was, apart from any rule, in words that every printer shares.
import type { FileResult, SessionResult, SessionSummary } from '../rules/result.ts';
import { count, energy, figure, list, seconds } from './figures.ts';

/** Who, when, how much, and how it ended: labels with their words. */
export function sessionFacts(file: FileResult, session: SessionResult): [string, string][] {
  const { summary } = session;
  const start = file.epoch === null ? seconds(session.from) : wallClock(file.epoch, session.from);
  const pieces = [
    summary.seenFromStart ? '' : 'starts inside it',
    summary.seenToEnd ? '' : 'ends inside it',
  ].filter((piece) => piece !== '');
  const seen = pieces.length > 0 ? `; the recording ${list(pieces)}` : '';
  return [
    ['protocol', session.protocol],
    ['vehicle', session.vehicle ?? 'address not in the recording'],
    ['charger', session.charger ?? 'address not in the recording'],
    [
      'time',
      `${start}, ${seconds(session.to - session.from)} long, ${count(summary.messages, 'message')}${seen}`,
    ],
    ['matching', matching(summary)],
    ['power', power(summary)],
    ['ended', ended(summary)],
  ];
}

function matching({ matching: slac }: SessionSummary): string {
  if (slac === null) return 'SLAC not in the recording';
  const came = slac.matched ? 'SLAC matched' : 'SLAC without a match';
  const run = slac.runId === null ? '' : `, run ${slac.runId}`;
  return `${came}, from ${seconds(slac.from)} to ${seconds(slac.to)}${run}`;
}

function power(summary: SessionSummary): string {
  const { energy_Wh, highestVoltage_V, highestCurrent_A, stateOfCharge } = summary;
  const moved =
    energy_Wh === null ? 'energy not observed' : energy_Wh === 0 ? 'no energy' : energy(energy_Wh);
  const parts = [
    moved,
    highestVoltage_V === null ? 'voltage not observed' : `at most ${figure(highestVoltage_V)} V`,
    highestCurrent_A === null ? 'current not observed' : `at most ${figure(highestCurrent_A)} A`,
    stateOfCharge === null
      ? 'state of charge not observed'
      : `state of charge ${figure(stateOfCharge.from_percent)} % → ${figure(stateOfCharge.to_percent)} %`,
  ];
  return parts.join(', ');
}

function ended({ ended: { by, how } }: SessionSummary): string {
  if (by === null) return how;
  return `by the ${by}: ${how}`;
}

/** Wall-clock time to the millisecond, in UTC; the epoch as it is if it cannot be read as a time. */
function wallClock(epoch: string, at: number): string {
  const start = Date.parse(epoch);
  if (Number.isNaN(start)) return `${epoch} + ${seconds(at)}`;
  const time = new Date(start + at * 1000);
  if (Number.isNaN(time.getTime())) return `${epoch} + ${seconds(at)}`;
  return `${time.toISOString().replace('T', ' ').replace('Z', '')} UTC`;
}
