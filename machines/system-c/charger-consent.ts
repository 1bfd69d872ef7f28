// What a charger must see before its output may be live, or go on being live.
import { drive, type Output, type Step } from '../../src/machine/chart.ts';
import type { MachineEvent } from '../../src/machine/convention.ts';

export const off: Output = drive('output', 'off');

/** Its own sight of pilot C or D. */
export const isC = ({ pilot }: MachineEvent): boolean => pilot === 'C' || pilot === 'D';

/** PowerDelivery start: power is granted only to a vehicle without an error of its own. */
export const starts: readonly Step[] = [
  {
    guard: ({ event }) => event.progress === 'start' && event.error !== 'fault',
    target: '#charger.transfer.starting',
  },
  { guard: ({ event }) => event.progress === 'start', target: '#charger.transfer.startingOff' },
];

/** What takes the charger's own consent back: it may go on answering, but not delivering. */
export function withdraws({ pilot, status, isolation }: MachineEvent): boolean {
  if (pilot !== 'C') return true;
  if (['not ready', 'shutdown', 'emergency', 'malfunction'].includes(status!)) return true;
  return isolation !== 'valid' && isolation !== 'warning';
}

/** After its own withdrawal the charger answers a start, but delivers nothing. */
export const startsOff: readonly Step[] = [
  { guard: ({ event }) => event.progress === 'start', target: '#charger.transfer.startingOff' },
];

/** After this no approach is granted, however the vehicle asks: the test counts no longer. */
export const losesTest = ({ isolation }: MachineEvent): boolean =>
  isolation === 'fault' || isolation === 'invalid';

/** What ends a test that is running: nothing stays live after the charger has told a fault or asked to stop at once. */
export function breaksOff({ status, isolation, notification }: MachineEvent): boolean {
  if (isolation === 'fault' || notification === 'stop now') return true;
  return ['shutdown', 'emergency', 'malfunction'].includes(status!);
}

type SendFacts = Readonly<Record<string, string>>;

const standing = (message: string, facts: SendFacts, event: MachineEvent) => ({
  message,
  session: 'this',
  code: 'ok',
  ...facts,
  isolation: event.isolation!,
  status: event.status!,
});

/** A positive answer that tells how the charger and its isolation stand. */
export function reports(message: string, facts: SendFacts = {}): Output {
  return { type: 'send', params: ({ event }) => standing(message, facts, event) };
}

/** The same, and whether it asks to stop. */
export function notifies(message: string, facts: SendFacts = {}): Output {
  return {
    type: 'send',
    params: ({ event }) => ({
      ...standing(message, facts, event),
      notification: event.notification!,
    }),
  };
}

/** What takes the vehicle's consent back: an error, EVReady false, or ChargingComplete. */
export function refuses({ error, ready, complete }: MachineEvent): boolean {
  return error === 'fault' || ready === 'no' || complete === 'yes';
}
