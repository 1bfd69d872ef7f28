// The protocols a session may speak, by the name their messages carry.
import { din70121 } from './din70121/dialect.ts';
import { timing as dinTiming } from './din70121/timing.ts';
import { iso15118_2 } from './iso15118-2/dialect.ts';
import { timing as isoTiming } from './iso15118-2/timing.ts';
import type { Dialect } from './system-c/dialect.ts';
import { messageTimeout, type Timing } from './system-c/timing.ts';

export interface Protocol {
  dialect: Dialect;
  timing: Timing;
}

export type SessionProtocol = Dialect['protocol'];

export const protocols: Readonly<Record<SessionProtocol, Protocol>> = {
  din70121: { dialect: din70121, timing: dinTiming },
  'iso15118-2': { dialect: iso15118_2, timing: isoTiming },
};

/** Wait for an answer where the table has no row for a message: that of most others. */
const usualTimeout_ns = 2_000_000_000;

/** How long the vehicle waits for the answer to a request (`CableCheckReq`), in nanoseconds. */
export function timeout_ns(protocol: Protocol, request: string): number {
  const row = protocol.timing[messageTimeout(request.slice(0, -3))];
  return row === undefined ? usualTimeout_ns : row.ms * 1_000_000;
}
