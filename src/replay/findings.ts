// Episodes and remarks of one session as findings, each with the messages around it.
import type { Episode, Monitor } from '../rules/monitor.ts';
import type { Finding, WindowLine } from '../rules/result.ts';
import type { Reading } from '../facts/reading.ts';
import type { Side } from '../trace/observation.ts';
import { seconds } from '../rules/words.ts';
import type { Conformance, Remark } from './conformance.ts';
import { WindowMaker } from './window.ts';

type Source = Episode | Remark;

export class Findings {
  readonly #windows = new WindowMaker();
  readonly #cut = new Map<unknown, WindowLine[]>();
  #episodes: Episode[] = [];
  #conformance: Conformance | null = null;
  #seenEpisodes = 0;
  #seenDivergences = 0;
  #seenRemarks = 0;

  message(reading: Reading, from: Side): void {
    this.#windows.message(reading, from);
  }

  /** Cuts a window for everything found since the last call. */
  collect(monitor: Monitor, conformance: Conformance): void {
    this.#episodes = monitor.episodes;
    this.#conformance = conformance;
    const { divergences, remarks } = conformance;
    for (; this.#seenEpisodes < monitor.episodes.length; this.#seenEpisodes += 1) {
      const one = monitor.episodes[this.#seenEpisodes]!;
      this.#request(one, one.frame, one.at_ns, one.telling.deadline?.armedFrame ?? null);
    }
    for (; this.#seenDivergences < divergences.length; this.#seenDivergences += 1) {
      const one = divergences[this.#seenDivergences]!;
      this.#request(one, one.frame, Math.round(one.at * 1e9), null);
    }
    for (; this.#seenRemarks < remarks.length; this.#seenRemarks += 1) {
      const one = remarks[this.#seenRemarks]!;
      this.#request(one, one.frame, one.at_ns, one.deadline?.armedFrame ?? null);
    }
  }

  /** Safety before conformance, breaches before suspicions, roots in time order with their consequences behind them. */
  finish(): Finding[] {
    this.#windows.finish();
    const ids = new Map<Source, string>();
    const ordered = orderEpisodes(this.#episodes);
    const remarks = this.#conformance?.all() ?? [];
    for (const one of [...ordered, ...remarks]) ids.set(one, `F${ids.size + 1}`);
    return [
      ...ordered.map((one) => this.#ofEpisode(one, ids)),
      ...remarks.map((one) => this.#ofRemark(one, ids)),
    ];
  }

  #request(key: unknown, frame: number | null, at_ns: number, armedFrame: number | null): void {
    this.#windows.cut({ frame, at_ns, armedFrame }, (lines) => this.#cut.set(key, lines));
  }

  #ofEpisode(episode: Episode, ids: Map<Source, string>): Finding {
    const { rule, judgement, telling, causedBy } = episode;
    return {
      id: ids.get(episode)!,
      rule: rule.id,
      class: rule.class,
      status: judgement.outcome === 'doubtful' ? 'suspected' : 'breach',
      owners: judgement.owners,
      frame: episode.frame,
      at: episode.at_ns / 1e9,
      deadline: deadlineOf(telling.deadline),
      evidence: telling.evidence,
      confidence: telling.confidence,
      clause: telling.clause,
      causedBy: causedBy === null ? null : (ids.get(causedBy) ?? null),
      says: telling.says + lastingWords(episode),
      seen: telling.seen,
      allowed: telling.allowed,
      window: this.#cut.get(episode) ?? [],
    };
  }

  #ofRemark(remark: Remark, ids: Map<Source, string>): Finding {
    const key = this.#conformance?.divergences.find(
      (one) => one.frame === remark.frame && Math.round(one.at * 1e9) === remark.at_ns,
    );
    const again = remark.times > 1 ? ` ${remark.times} times in all.` : '';
    return {
      id: ids.get(remark)!,
      rule: remark.rule,
      class: 'conformance',
      status: 'breach',
      owners: remark.owners,
      frame: remark.frame,
      at: remark.at_ns / 1e9,
      deadline: deadlineOf(remark.deadline ?? undefined),
      evidence: 'reported',
      confidence: 'from memory',
      clause: remark.clause,
      causedBy: null,
      says: remark.says + again,
      seen: remark.seen,
      allowed: remark.allowed,
      window: this.#cut.get(remark) ?? this.#cut.get(key) ?? [],
    };
  }
}

function deadlineOf(
  deadline: { armedFrame: number | null; due_ns: number } | undefined,
): Finding['deadline'] {
  if (deadline === undefined) return null;
  return { armedFrame: deadline.armedFrame, due_s: deadline.due_ns / 1e9 };
}

const doubtful = (one: Episode): number => (one.judgement.outcome === 'doubtful' ? 1 : 0);
const rootOf = (one: Episode): Episode => one.causedBy ?? one;

function orderEpisodes(episodes: Episode[]): Episode[] {
  const position = new Map(episodes.map((one, index) => [one, index]));
  return episodes.toSorted((a, b) => {
    const [rootA, rootB] = [rootOf(a), rootOf(b)];
    return (
      doubtful(rootA) - doubtful(rootB) ||
      rootA.at_ns - rootB.at_ns ||
      position.get(rootA)! - position.get(rootB)! ||
      Number(a !== rootA) - Number(b !== rootB) ||
      a.at_ns - b.at_ns
    );
  });
}

/** How long a breach stood, and how often it came back. */
function lastingWords(episode: Episode): string {
  const lasted_ns = episode.last_ns - episode.at_ns;
  if (episode.samples < 3 || lasted_ns <= 0) return '';
  const until = episode.lastFrame === null ? '' : ` until frame ${episode.lastFrame}`;
  const again = episode.times > 1 ? `, ${episode.times} times` : '';
  return ` It went on for ${seconds(lasted_ns)}${until}${again}.`;
}
