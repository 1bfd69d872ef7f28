// What happened in one session, apart from any rule: stages, energy, extremes, how it ended.
import { currentLives_ns } from '../facts/evidence.ts';
import type { Extractor } from '../facts/extract.ts';
import type { Reading } from '../facts/reading.ts';
import type { Act } from '../facts/vocabulary.ts';
import type { SessionSummary, StageSpan } from '../rules/result.ts';

type Stage = 'initialisation' | 'cable check' | 'pre-charge' | 'energy transfer' | 'shutdown';

const stageOf: Partial<Record<Act, Stage>> = {
  setup: 'initialisation',
  test: 'cable check',
  approach: 'pre-charge',
  power: 'energy transfer',
  demand: 'energy transfer',
  stop: 'shutdown',
  'weld check': 'shutdown',
  end: 'shutdown',
  renegotiate: 'initialisation',
};

export class SummaryMaker {
  #messages = 0;
  #spans: { stage: Stage; from_ns: number; to_ns: number }[] = [];
  #energy_J = 0;
  #power: { watts: number; at_ns: number } | null = null;
  #sampled = false;
  #highestVoltage_V: number | null = null;
  #highestCurrent_A: number | null = null;
  #firstCharge: number | null = null;
  #lastCharge: number | null = null;
  #last: Reading | null = null;
  #closed: 'closed' | 'reset' | null = null;
  #paused = false;
  #endMessage: Reading | null = null;

  constructor(from_ns: number) {
    this.#spans.push({ stage: 'initialisation', from_ns, to_ns: from_ns });
  }

  message(reading: Reading, paused: boolean): void {
    this.#messages += 1;
    this.#last = reading;
    this.#paused ||= paused;
    if (reading.act === 'end') this.#endMessage ??= reading;
    this.#stage(reading);
    const charge = reading.stateOfCharge_percent;
    if (charge !== undefined) {
      this.#firstCharge ??= charge;
      this.#lastCharge = charge;
    }
  }

  /** Output samples, from messages and meters alike. */
  sample({ electrical }: Extractor, at_ns: number): void {
    const { output, current } = electrical;
    if (output?.at_ns === at_ns) {
      this.#highestVoltage_V = Math.max(this.#highestVoltage_V ?? 0, output.value);
    }
    if (current?.at_ns !== at_ns) return;
    this.#highestCurrent_A = Math.max(this.#highestCurrent_A ?? -Infinity, current.value);
    if (output === null) return;
    // Each power counts until the next sample, at most for the life of a value.
    const before = this.#power;
    if (before !== null) {
      const held_ns = Math.min(at_ns - before.at_ns, currentLives_ns);
      this.#energy_J += (before.watts * held_ns) / 1e9;
      this.#sampled = true;
    }
    this.#power = { watts: output.value * current.value, at_ns };
  }

  linkEnded(how: 'closed' | 'reset'): void {
    this.#closed ??= how;
  }

  /** `to_ns`: last observation of the session. */
  finish(
    extractor: Extractor,
    to_ns: number,
    whole: boolean,
  ): Omit<SessionSummary, 'matching' | 'notObserved' | 'divergences'> {
    this.#spans.at(-1)!.to_ns = to_ns;
    return {
      messages: this.#messages,
      stages: this.#spans.map(spanOf),
      energy_Wh: this.#sampled ? Math.round(this.#energy_J / 3.6) / 1000 : null,
      highestVoltage_V: this.#highestVoltage_V,
      highestCurrent_A: this.#highestCurrent_A,
      stateOfCharge:
        this.#firstCharge === null || this.#lastCharge === null
          ? null
          : { from_percent: this.#firstCharge, to_percent: this.#lastCharge },
      ended: this.#ended(extractor),
      seenFromStart: whole,
      seenToEnd: this.#closed !== null || this.#endMessage !== null,
    };
  }

  #stage(reading: Reading): void {
    const stage = reading.act === undefined ? undefined : stageOf[reading.act];
    const current = this.#spans.at(-1)!;
    current.to_ns = reading.at_ns;
    if (reading.request !== true || stage === undefined || stage === current.stage) return;
    // A session once stopped does not go back to a stage: only a new start does.
    if (current.stage === 'shutdown' && reading.act !== 'power') return;
    this.#spans.push({ stage, from_ns: reading.at_ns, to_ns: reading.at_ns });
  }

  #ended(extractor: Extractor): SessionSummary['ended'] {
    const { vehicleWithdrawal, chargerWithdrawal } = extractor.consents;
    const first = [
      { by: 'vehicle' as const, withdrawal: vehicleWithdrawal },
      { by: 'charger' as const, withdrawal: chargerWithdrawal },
    ]
      .filter(({ withdrawal }) => withdrawal !== null)
      .toSorted((a, b) => a.withdrawal!.at_ns - b.withdrawal!.at_ns)[0];
    const close = this.#closeWords();
    if (first !== undefined && first.withdrawal!.because !== 'the link closed') {
      const { frame, because } = first.withdrawal!;
      const where = frame === null ? '' : ` in frame ${frame}`;
      return { by: first.by, how: `${because.replace(/^it /, '')}${where}; ${close}` };
    }
    if (this.#endMessage !== null) {
      const { name, frame } = this.#endMessage;
      return {
        by: 'vehicle',
        how: `sent ${name}${frame === null ? '' : ` in frame ${frame}`}; ${close}`,
      };
    }
    if (this.#closed !== null) return { by: 'link', how: close };
    return { by: null, how: close };
  }

  #closeWords(): string {
    const stop =
      this.#endMessage === null ? '' : this.#paused ? 'session paused, ' : 'SessionStop, ';
    if (this.#closed === 'closed') return `${stop}connection closed`;
    if (this.#closed === 'reset') return `${stop}connection reset`;
    const last = this.#last;
    const where =
      last === null
        ? ''
        : ` after ${last.name}${last.frame === null ? '' : ` (frame ${last.frame})`}`;
    return `${stop}the recording ends${where}, no close was seen`;
  }
}

function spanOf(span: { stage: Stage; from_ns: number; to_ns: number }): StageSpan {
  const from = span.from_ns / 1e9;
  const to = span.to_ns / 1e9;
  return { stage: span.stage, from, to, duration_s: (span.to_ns - span.from_ns) / 1e9 };
}
