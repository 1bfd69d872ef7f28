// Which answer belongs to which request, how long it took, and how often a message was repeated.
import type { Log } from '../log.ts';

export interface Answers {
  /** For a response: seconds since its request; NaN elsewhere. */
  wait_s: Float64Array;
  /** Requests that another request followed without an answer. */
  unanswered: Set<number>;
  /** For a request: how many of that name directly before it; 0 for the first. */
  repeats: Int32Array;
}

export function answersOf(log: Log): Answers {
  const wait_s = new Float64Array(log.length).fill(Number.NaN);
  const repeats = new Int32Array(log.length);
  const unanswered = new Set<number>();
  /** The request that waits on each connection. */
  const waiting = new Map<string, number>();
  let last = '';
  let times = 0;
  for (let row = 0; row < log.length; row += 1) {
    const { kind, name, link = '', protocol } = log.head(row);
    if (kind !== 'message' || protocol === 'slac') continue;
    const request = waiting.get(link);
    if (name.endsWith('Req')) {
      if (request !== undefined && protocol !== 'sdp') unanswered.add(request);
      waiting.set(link, row);
      times = name === last ? times + 1 : 0;
      repeats[row] = times;
      last = name;
    } else if (request !== undefined) {
      wait_s[row] = log.at[row]! - log.at[request]!;
      waiting.delete(link);
    }
  }
  // The last one may have been answered after the recording ended: only what was overtaken is told.
  return { wait_s, unanswered, repeats };
}
