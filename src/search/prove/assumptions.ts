import { LONGEST_CLOCK_ms, TICK_ms } from './side-tables.ts';

/** Every bound of the model, in words: `holds` means nothing without them. */
export function assumptions(faults: number): string[] {
  return [
    'one request in flight at a time, in order, over a link that may delay it for any time and may close',
    `time in steps of ${TICK_ms / 1000} s; a timer of more than ${LONGEST_CLOCK_ms / 1000} s, one that only marks an answer as late, and one that only ends a finished session may run out at any time`,
    'the power stage follows a command to switch off within one step; voltages are safe or live, inside or outside the gate; current is there or not',
    "each side's own sensors show the plant as it is",
    'a FAILED answer says nothing else; a message leaves no fact out but the isolation status',
    'a notice to stop at once obliges the vehicle to stop even if it is taken back; a notice with a delay is kept',
    faults === 0
      ? 'no faults: the link is lost, the plug pulled, the contactor welds or the charger restarts in no run'
      : `at most ${faults} of these faults in a run: the link is lost, the plug is pulled, the contactor welds, the charger restarts`,
    'whether a rule ever became relevant is not told apart yet; steps that no run took are listed',
  ];
}
