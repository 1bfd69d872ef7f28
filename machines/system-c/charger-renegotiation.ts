// Renegotiation of the charger (ISO 15118-2): new parameters while the contactors may stay closed.
import type { Chart, Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { testsFor } from './charger-approach.ts';
import { answers, expects, loop, stops } from './charger-pieces.ts';
import { breaksOff, notifies, off, starts, startsOff } from './charger-consent.ts';
import type { SystemC } from './protocol.ts';

/**
 * What the charger has said of itself since: nothing against it; that it is not ready, and so nothing is live again but by
 * a start or a new test; that it stops, and so nothing is live again; that its test counts no longer, and so nothing is
 * granted but a new test; or that isolation or the charger is at fault, and so nothing is granted any more.
 */
const MOODS = ['parameters', 'held', 'dark', 'untested', 'lost'] as const;
type Mood = (typeof MOODS)[number];

const at = (state: string): string => `#charger.renegotiating.${state}`;

function moodAfter(mood: Mood, said: Mood): Mood {
  return MOODS[Math.max(MOODS.indexOf(mood), MOODS.indexOf(said))]!;
}

/** OK, with what it tells of itself, on to where that leaves it. */
function tells(
  message: string,
  mood: Mood,
  target: (mood: Mood) => string,
  facts: Readonly<Record<string, string>> = {},
): Step[] {
  const step = (said: Mood, guard: (event: MachineEvent) => boolean): Step => ({
    guard: ({ event }) => guard(event),
    target: target(moodAfter(mood, said)),
    actions: [notifies(`${message}Res`, facts)],
  });
  return [
    step('lost', ({ isolation, status }) => {
      return isolation === 'fault' || status === 'emergency' || status === 'malfunction';
    }),
    step('untested', ({ isolation }) => isolation === 'invalid'),
    step('dark', breaksOff),
    step('held', ({ status }) => status === 'not ready'),
    step('parameters', () => true),
  ];
}

function parameters(protocol: SystemC, mood: Mood): Chart {
  const message = 'ChargeParameterDiscovery';
  return loop(protocol, {
    message,
    path: `renegotiating.${mood}`,
    done: at(`${mood}Settled`),
    also: stops(protocol),
    customer: false,
    settles: (processing) =>
      tells(
        message,
        mood,
        (after) => at(processing === 'finished' ? `${after}Settled` : `${after}.ongoing.expects`),
        { processing },
      ),
  });
}

function settled(protocol: SystemC, mood: Mood): Chart {
  if (mood === 'lost')
    return expects(protocol, 'expects a stop: isolation is at fault', stops(protocol));
  const again = testsFor('#charger.preparing.cableCheck.testing.detecting.answers');
  if (mood === 'untested') {
    return expects(protocol, 'expects CableCheckReq', { CableCheckReq: again, ...stops(protocol) });
  }
  const approach = mood === 'parameters' ? 'answersOff' : 'offAnswers';
  return expects(protocol, 'expects PowerDeliveryReq, CableCheckReq or PreChargeReq', {
    CableCheckReq: again,
    PreChargeReq: { target: `#charger.preparing.preCharge.${approach}` },
    ...stops(protocol, mood === 'dark' ? startsOff : starts),
  });
}

/** Renegotiation withdraws the power; cable check and pre-charge may run again or not. */
export function renegotiating(protocol: SystemC): Chart {
  const begins = (from: Mood): Chart =>
    answers(protocol, 'PowerDelivery', {
      'choose.answer': tells('PowerDelivery', from, (mood) => at(mood)),
    });
  return {
    tags: ['energy transfer'],
    // The power is taken back with the request, however long the answer takes.
    entry: [off],
    initial: 'answers',
    states: {
      answers: begins('parameters'),
      // Once off, or asked to stop, nothing is granted any more in the session.
      answersLost: begins('lost'),
      ...Object.fromEntries(
        MOODS.flatMap((mood) => [
          [mood, parameters(protocol, mood)],
          [`${mood}Settled`, settled(protocol, mood)],
        ]),
      ),
    },
  };
}
