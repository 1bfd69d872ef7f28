// Energy transfer of the charger. Once off, the output stays off for the session.
import { drive, type Chart, type Step } from '../../src/machine/chart.ts';
import { answers, expects, ok, stops, type On } from './charger-pieces.ts';
import { isC, notifies, off, refuses, reports, withdraws } from './charger-consent.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';
import type { SystemC } from './protocol.ts';

const grants = (event: MachineEvent): boolean => event.status === 'ready' && !withdraws(event);

/** A state of the loop with the output off. */
const at = (state: string): string => `#charger.transfer.off.${state}`;

export function transfer(protocol: SystemC): Chart {
  const delivery = 'PowerDelivery';
  return {
    tags: ['energy transfer'],
    initial: 'starting',
    states: {
      starting: answers(protocol, delivery, {
        'sense.pilot': { guard: ({ event }) => !isC(event), target: 'startingOff', actions: [off] },
        'choose.answer': [
          // One that asks to stop at once has not agreed to go on.
          {
            guard: ({ event }) => grants(event) && event.notification === 'stop now',
            target: 'off',
            actions: [off, notifies(`${delivery}Res`)],
          },
          {
            guard: ({ event }) => grants(event),
            target: 'on',
            actions: [drive('output', 'on'), notifies(`${delivery}Res`)],
          },
          {
            guard: ({ event }) => event.status !== 'ready' || event.isolation === 'fault',
            target: 'off',
            actions: [off, notifies(`${delivery}Res`)],
          },
        ],
      }),
      startingOff: {
        entry: [off],
        ...answers(protocol, delivery, { 'choose.answer': ok(delivery, 'off') }),
      },
      on: delivering(protocol, 'on', (message) => [
        {
          guard: ({ event }) => withdraws(event),
          target: at('expects'),
          actions: [off, notifies(message)],
        },
        {
          guard: ({ event }) => event.notification === 'stop now',
          target: '#charger.transfer.asked.expects',
          actions: [notifies(message)],
        },
        { target: 'expects', actions: [notifies(message)] },
      ]),
      // Once it has asked to stop at once it goes on asking, and delivers only until the vehicle has stopped.
      // A vehicle that does not is no longer waited for.
      asked: {
        after: { EV_Stop_Request_End: { actions: [off] } },
        ...delivering(protocol, 'asked', (message) => [
          {
            guard: ({ event }) => withdraws(event),
            target: at('expects'),
            actions: [off, reports(message, { notification: 'stop now' })],
          },
          { target: 'expects', actions: [reports(message, { notification: 'stop now' })] },
        ]),
      },
      // Switched off after a withdrawal: it answers, and nothing in this session brings the output back.
      off: delivering(protocol, 'off', (message) => [ok(message.replace(/Res$/, ''), 'expects')]),
    },
  };
}

/** The CurrentDemand loop, with the output on, on for a little longer, or off. */
function delivering(
  protocol: SystemC,
  copy: 'on' | 'asked' | 'off',
  settle: (message: string) => readonly Step[],
): Chart {
  // One that has asked to stop takes a demand of nothing for the stop.
  const ends = (event: MachineEvent): boolean =>
    refuses(event) || (copy === 'asked' && event.demand === 'none');
  const lost = (state: string): On =>
    copy !== 'off'
      ? {
          'sense.pilot': {
            guard: ({ event }) => !isC(event),
            target: at(state),
            actions: [off],
          },
        }
      : {};
  // A vehicle with a fault of its own may ask, and gets nothing more in this session.
  const renegotiates: Step[] = [
    {
      guard: ({ event }) => event.progress === 'renegotiate' && event.error === 'fault',
      target: '#charger.transfer.startingOff',
      actions: [off],
    },
    {
      guard: ({ event }) => event.progress === 'renegotiate',
      target: copy === 'on' ? '#charger.renegotiating' : '#charger.renegotiating.answersLost',
    },
  ];
  // The protocol would let a charger wait for a minute; with current flowing, silence is a no after a second. One that is
  // itself slow to answer cannot tell whether the vehicle is still there: its current does not outlast that second either.
  const silence = (state: string): Chart =>
    copy !== 'off'
      ? { after: { EVSE_Silence_While_Flowing: { target: at(state), actions: [off] } } }
      : {};
  return {
    initial: 'expects',
    states: {
      expects: also(
        silence('expects'),
        expects(protocol, 'expects CurrentDemandReq or PowerDeliveryReq', {
          CurrentDemandReq: [
            { guard: ({ event }) => ends(event), target: at('answers'), actions: [off] },
            { target: 'answers' },
          ],
          ...(protocol.contract ? { MeteringReceiptReq: { target: 'answersReceipt' } } : {}),
          ...stops(protocol, protocol.renegotiation ? renegotiates : []),
          ...lost('expects'),
        }),
      ),
      answers: also(
        silence('answers'),
        answers(protocol, 'CurrentDemand', {
          'choose.answer': settle('CurrentDemandRes'),
          ...lost('answers'),
        }),
      ),
      ...(protocol.contract
        ? {
            answersReceipt: also(
              silence('answersReceipt'),
              answers(protocol, 'MeteringReceipt', {
                'choose.answer': settle('MeteringReceiptRes'),
                ...lost('answersReceipt'),
              }),
            ),
          }
        : {}),
    },
  };
}

/** A state with one timer more. */
const also = (timer: Chart, state: Chart): Chart => ({
  ...state,
  after: { ...state.after, ...timer.after },
});
