// A bar on stderr for who watches a terminal; nothing anywhere else.
import type { CommonOptions, Io } from './io.ts';

export interface Progress {
  step(): void;
  stop(): void;
}

const NONE: Progress = { step: () => {}, stop: () => {} };

export async function progressOf(io: Io, options: CommonOptions, files: number): Promise<Progress> {
  const { stream } = io.stderr;
  if (!io.stderr.isTTY || stream === undefined || options.quiet) return NONE;
  const { SingleBar } = await import('cli-progress');
  const bar = new SingleBar({
    stream,
    format: '{bar} {value} of {total} files, {eta_formatted} to go',
    barCompleteChar: '=',
    barIncompleteChar: '.',
    barsize: 24,
    clearOnComplete: true,
    hideCursor: true,
    stopOnComplete: true,
    fps: 8,
  });
  bar.start(files, 0);
  return { step: () => bar.increment(), stop: () => bar.stop() };
}
