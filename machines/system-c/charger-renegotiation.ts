// Renegotiation of the charger (ISO 15118-2): new parameters while the contactors may stay closed.
import type { Chart, Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import { testsFor } from './charger-approach.ts';
import { answers, expects, loop, stops } from './charger-pieces.ts';
import { breaksOff, notifies, off, starts, startsOff } from './charger-consent.ts';
import type { SystemC } from './protocol.ts';

/**
 * What the charger has said of itself since: nothing against it; that it is not ready, and so nothing is live again but by
 * a start or a new test; or that it stops or that its test counts no longer, and so nothing but a new test helps.
 */
const MOODS = ['parameters', 'held', 'dark'] as const;
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
    step('dark', (event) => breaksOff(event) || event.isolation === 'invalid'),
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
  const approach = mood === 'parameters' ? 'answersOff' : 'offAnswers';
  return expects(protocol, 'expects PowerDeliveryReq, CableCheckReq or PreChargeReq', {
    CableCheckReq: testsFor('#charger.preparing.cableCheck.testing.detecting.answers'),
    PreChargeReq: { target: `#charger.preparing.preCharge.${approach}` },
    ...stops(protocol, mood === 'dark' ? startsOff : starts),
  });
}

/** Renegotiation withdraws the power; cable check and pre-charge may run again or not. */
export function renegotiating(protocol: SystemC): Chart {
  return {
    tags: ['energy transfer'],
    // The power is taken back with the request, however long the answer takes.
    entry: [off],
    initial: 'answers',
    states: {
      answers: answers(protocol, 'PowerDelivery', {
        'choose.answer': tells('PowerDelivery', 'parameters', (mood) => at(mood)),
      }),
      ...Object.fromEntries(
        MOODS.flatMap((mood) => [
          [mood, parameters(protocol, mood)],
          [`${mood}Settled`, settled(protocol, mood)],
        ]),
      ),
    },
  };
}
