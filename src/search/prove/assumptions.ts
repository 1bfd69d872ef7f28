import type { Side } from '../../trace/observation.ts';
import { LONGEST_CLOCK_ms, TICK_ms } from './side-tables.ts';

const TOGETHER = [
  'one request in flight at a time, in order, over a link that may delay it for any time and may close',
];

function aloneBounds(alone: Side): string[] {
  const other = alone === 'vehicle' ? 'charger' : 'vehicle';
  return [
    `the ${other} may send any message the ${alone} reads, with any facts, of this session or another, whenever the ${alone} reads one; what comes unread waits in the stream`,
    `the ${other} drives its hardware as it likes${alone === 'charger' ? '; a change of the pilot stays until the charger has seen it' : ''}`,
    `only the duties of the ${alone} are judged, and none that rests on a closed connection it could not know of`,
  ];
}

const FAULTS = [
  'the link is lost',
  'the plug is pulled',
  'the contactor welds',
  'a crash is signalled',
  'the emergency stop is pressed',
  'the vehicle restarts',
  'the charger restarts',
];

interface Bounds {
  readonly faults: number;
  readonly alone?: Side;
}

/** Every bound of the model, in words: `holds` means nothing without them. */
export function assumptions({ faults, alone }: Bounds): string[] {
  return [
    ...(alone === undefined ? TOGETHER : aloneBounds(alone)),
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
