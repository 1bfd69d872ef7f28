// The thread of the dialogue: which request a response answers, in which session, and whether a notice to stop stands.
import { countdownStep_ns } from './duties.ts';
import type { Reading } from './reading.ts';
import type { Notice } from './triggers.ts';
import type { Act, Facts } from './vocabulary.ts';

export class ExchangeThread {
  /** The last request, which a response answers. */
  request: { name: string; act: Act | null; reading: Reading } | null = null;
  sessionId: string | null = null;
  notice: Notice | null = null;

  /** Whether the message names this session or another; null where that says nothing. */
  session(reading: Reading): Facts['session'] {
    if (reading.sessionId === undefined || reading.request === undefined) return null;
    if (reading.name === 'SessionSetupReq') return null;
    if (reading.name === 'SessionSetupRes') this.sessionId = reading.sessionId;
    this.sessionId ??= reading.sessionId;
    return reading.sessionId === this.sessionId ? 'this' : 'foreign';
  }

  /** What the message asks for; a response answers what its request asked for. */
  act(reading: Reading): Act | null {
    if (reading.request === true) {
      const act = reading.act ?? null;
      this.request = { name: reading.name, act, reading };
      return act;
    }
    if (reading.request === false) {
      const asked = this.request;
      const pair = asked !== null && asked.name.slice(0, -3) === reading.name.slice(0, -3);
      return pair ? asked.act : (reading.act ?? null);
    }
    return null;
  }

  /** The session the request named that this response accepts. */
  answers(reading: Reading): Facts['answers'] {
    return reading.ok === true ? (this.request?.reading.session ?? null) : null;
  }

  /** Whether the last request asks for current; only a demand or a pre-charge says. */
  asked(): Facts['asked'] {
    const amount_A = this.request?.reading.targetCurrent_A;
    return amount_A === undefined ? 'unknown' : amount_A > 0 ? 'current' : 'nothing';
  }

  /** Follows the charger's notice; true when one that stood was taken back. */
  followNotice(reading: Reading): boolean {
    if (reading.notice === undefined) return false;
    if (reading.notice.kind !== 'stop') {
      this.notice = null;
      return true;
    }
    const { delay_s } = reading.notice;
    const due_ns = reading.at_ns + Math.round(delay_s * 1e9);
    // A countdown in whole seconds repeats the same end; a sharper notice takes its place.
    const sharper = this.notice !== null && due_ns < this.notice.due_ns - countdownStep_ns;
    if (this.notice === null || sharper) this.notice = { due_ns, delay_s, frame: reading.frame };
    return false;
  }

  /** The notice, once its NotificationMaxDelay is over. */
  passed(at_ns: number): Notice | null {
    return this.notice !== null && at_ns > this.notice.due_ns ? this.notice : null;
  }

  /** Bytes are missing: a request or a notice may be among them. */
  lose(): void {
    this.request = null;
    this.notice = null;
  }
}
