// One file, whatever happens in it: a bad file never stops the others.
import { worstVerdict } from '../rules/verdicts.ts';
import type { Timeline } from '../report/timeline/timeline.ts';
import type { FileResult } from '../rules/result.ts';
import { InputError } from '../trace/input-error.ts';
import type { Engine, OnSession, ReplaySettings } from './engine.ts';
import { faultLine, isSystemError, systemReason } from './errors.ts';
import type { Entry } from './find-captures.ts';

export interface Outcome {
  file: FileResult;
  /** One for each session, in order, where they were asked for. */
  timelines: (Timeline | null)[];
  /** A line about a fault of handfast itself, for stderr. */
  fault?: string;
}

export async function replayOne(
  { path, reason }: Entry,
  settings: ReplaySettings & { debug: boolean },
  engine: Engine,
  onSession?: OnSession,
): Promise<Outcome> {
  if (reason !== undefined) return { file: without(path, 'unreadable', reason), timelines: [] };
  const file = without(path, 'unreadable', '');
  const timelines: (Timeline | null)[] = [];
  const ended: OnSession = (session, epoch, timeline) => {
    file.epoch = epoch;
    file.sessions.push(session);
    timelines.push(timeline);
    onSession?.(session, epoch, timeline);
  };
  try {
    return { file: await engine.replay(path, settings, ended), timelines };
  } catch (error) {
    const why = unreadableBecause(error, path);
    if (why === null) return faulty(path, error, settings.debug);
    // The sessions before the place where reading failed stand.
    const verdict = worstVerdict([file, ...file.sessions]);
    return { file: { ...file, reasons: [why], verdict }, timelines };
  }
}

/** Why a recording could not be read; null when the error is no fault of the recording. */
function unreadableBecause(error: unknown, path: string): string | null {
  if (error instanceof InputError) return error.message;
  return isSystemError(error) ? `${error.path ?? path}: ${systemReason(error)}` : null;
}

/** Nothing was decided about the file, and the fault is ours. */
export function faulty(path: string, error: unknown, debug: boolean): Outcome {
  return {
    file: without(path, 'inconclusive', 'handfast failed on this file (internal fault)'),
    timelines: [],
    fault: faultLine(error, path, debug),
  };
}

export function unfinished(path: string): Outcome {
  const file = without(path, 'inconclusive', 'not replayed to its end: interrupted');
  return { file, timelines: [] };
}

function without(file: string, verdict: FileResult['verdict'], reason: string): FileResult {
  return { file, epoch: null, verdict, reasons: [reason], sessions: [] };
}
