// One file, whatever happens in it: a bad file never stops the others.
import type { FileResult, SessionResult } from '../rules/result.ts';
import { InputError } from '../trace/input-error.ts';
import type { Engine, ReplaySettings } from './engine.ts';
import { faultLine, isSystemError, systemReason } from './errors.ts';
import type { Entry } from './find-captures.ts';

export interface Outcome {
  file: FileResult;
  /** A line about a fault of handfast itself, for stderr. */
  fault?: string;
}

export async function replayOne(
  { path, reason }: Entry,
  settings: ReplaySettings & { debug: boolean },
  engine: Engine,
  onSession?: (session: SessionResult) => void,
): Promise<Outcome> {
  if (reason !== undefined) return { file: without(path, 'unreadable', reason) };
  try {
    return { file: await engine.replay(path, settings, onSession) };
  } catch (error) {
    if (error instanceof InputError) return { file: without(path, 'unreadable', error.message) };
    if (isSystemError(error)) {
      const place = error.path ?? path;
      return { file: without(path, 'unreadable', `${place}: ${systemReason(error)}`) };
    }
    return faulty(path, error, settings.debug);
  }
}

/** Nothing was decided about the file, and the fault is ours. */
export function faulty(path: string, error: unknown, debug: boolean): Outcome {
  return {
    file: without(path, 'inconclusive', 'handfast failed on this file (internal fault)'),
    fault: faultLine(error, path, debug),
  };
}

export function unfinished(path: string): Outcome {
  return { file: without(path, 'inconclusive', 'not replayed to its end: interrupted') };
}

function without(file: string, verdict: FileResult['verdict'], reason: string): FileResult {
  return { file, epoch: null, verdict, reasons: [reason], sessions: [] };
}
