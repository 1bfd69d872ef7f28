import { LONGEST_CLOCK_ms, TICK_ms } from './side-tables.ts';

const FAULTS = [
  'the link is lost',
  'the plug is pulled',
  'the contactor welds',
  'a crash is signalled',
  'the emergency stop is pressed',
  'the vehicle restarts',
  'the charger restarts',
];

/** Every bound of the model, in words: `holds` means nothing without them. */
export function assumptions(faults: number): string[] {
  return [
    'one request in flight at a time, in order, over a link that may delay it for any time and may close',
    `time in steps of ${TICK_ms / 1000} s; a timer of more than ${LONGEST_CLOCK_ms / 1000} s, one that only marks an answer as late, and one that only ends a finished session may run out at any time`,
    'the power stage follows a command to switch off within one step; voltages are safe or live, inside or outside the gate; current is there or not',
    "each side's own sensors show the plant as it is",
    'a FAILED answer says nothing else; a message leaves no fact out but the isolation status',
    'a notice to stop at once obliges the vehicle to stop even if it is taken back; a notice with a delay is kept',
    'an operator may stop at either side whenever its machine lets it; the weakest cell may reach its limit whenever current flows, and stands the current asked for before that until the next request',
    faults === 0
      ? `no faults: in no run ${FAULTS.join(', ')}`
      : `at most ${faults} of these faults in a run: ${FAULTS.join(', ')}`,
    'a vehicle without power opens its contactors, a welded one excepted; the 100 ms of a crash end within one step of time',
  ];
}
