// Runs every safety rule over one session and keeps what they found: episodes of breach, verdicts, margins.
import type { Extractor } from '../facts/extract.ts';
import type { MarginSample } from '../facts/evidence.ts';
import type { Reading } from '../facts/reading.ts';
import type { Facts } from '../facts/vocabulary.ts';
import { judgingOrder } from './catalogue.ts';
import type { Judgement, Rule, RuleId, Telling } from './rule.ts';

/** One breach, from the step that showed it to the last step that still did. */
export interface Episode {
  rule: Rule;
  judgement: Judgement;
  telling: Telling;
  at_ns: number;
  frame: number | null;
  /** Last step at which it stood, and how many samples showed it. */
  last_ns: number;
  lastFrame: number | null;
  samples: number;
  /** How often it began anew. */
  times: number;
  standing: boolean;
  causedBy: Episode | null;
}

export interface RuleTally {
  held: number;
  unknown: number;
  /** Frame of the first step that could not be decided. */
  unknownFrame: number | null;
  margin: MarginSample | null;
}

export class Monitor {
  readonly episodes: Episode[] = [];
  readonly tallies = new Map<RuleId, RuleTally>();
  readonly #judged: { rule: Rule; tally: RuleTally }[] = [];
  readonly #extractor: Extractor;
  #before: Facts;

  constructor(extractor: Extractor) {
    this.#extractor = extractor;
    this.#before = extractor.facts;
    for (const rule of judgingOrder) {
      const tally = { held: 0, unknown: 0, unknownFrame: null, margin: null };
      this.tallies.set(rule.id, tally);
      this.#judged.push({ rule, tally });
    }
  }

  step(reading: Reading): void {
    this.#judge(this.#extractor.step(reading), reading);
    for (const margin of this.#extractor.margins()) this.#keep(margin);
  }

  /** The session ends: deadlines that still run are told as not observed. */
  finish(last: Reading): void {
    this.#judge(this.#extractor.finish(), last);
  }

  #judge(now: Facts, reading: Reading): void {
    for (const { rule, tally } of this.#judged) {
      const judgements = rule.judge(this.#before, now);
      if (judgements.length === 0) continue;
      for (const judgement of judgements) {
        if (judgement.outcome === 'holds') tally.held += 1;
        else if (judgement.outcome === 'unknown') {
          tally.unknown += 1;
          tally.unknownFrame ??= reading.frame;
        } else this.#breach(rule, judgement, now, reading);
      }
      this.#recover(rule, judgements);
    }
    this.#before = now;
  }

  #breach(rule: Rule, judgement: Judgement, now: Facts, reading: Reading): void {
    const same = this.episodes.find(
      (one) =>
        one.rule === rule &&
        one.judgement.part === judgement.part &&
        one.judgement.outcome === judgement.outcome &&
        judgement.owners.every((side) => one.judgement.owners.includes(side)),
    );
    if (same !== undefined) {
      if (!same.standing) same.times += 1;
      same.standing = true;
      same.samples += 1;
      same.last_ns = reading.at_ns;
      same.lastFrame = reading.frame;
      return;
    }
    const scene = { reading, facts: now, before: this.#before, extractor: this.#extractor };
    const telling = rule.tell(judgement, scene);
    this.episodes.push({
      rule,
      judgement,
      telling,
      at_ns: telling.at_ns ?? reading.at_ns,
      frame: telling.frame === undefined ? reading.frame : telling.frame,
      last_ns: reading.at_ns,
      lastFrame: reading.frame,
      samples: 1,
      times: 1,
      standing: true,
      causedBy: this.#cause(rule),
    });
  }

  /** The latest root among the breaches this one may follow from. A doubtful breach causes nothing. */
  #cause(rule: Rule): Episode | null {
    const cause = this.episodes.findLast(
      (one) => one.judgement.outcome === 'broken' && rule.followsFrom.includes(one.rule.id),
    );
    return cause?.causedBy ?? cause ?? null;
  }

  /** A step in which the rule applied and was kept ends its episodes. */
  #recover(rule: Rule, judgements: Judgement[]): void {
    if (this.episodes.length === 0) return;
    if (!judgements.every(({ outcome }) => outcome === 'holds')) return;
    for (const episode of this.episodes) if (episode.rule === rule) episode.standing = false;
  }

  #keep(sample: MarginSample): void {
    const tally = this.tallies.get(sample.rule as RuleId);
    if (tally === undefined) return;
    const before = tally.margin;
    const closer = before === null || sample.value / sample.limit > before.value / before.limit;
    if (closer) tally.margin = sample;
  }
}
