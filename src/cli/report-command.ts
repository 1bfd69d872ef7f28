// `handfast report`: what replay finds, as a page.
import type { Engine } from './engine.ts';
import type { Io } from './io.ts';
import { replayCommand } from './replay-command.ts';
import type { ReplayOptions } from './replay-options.ts';

export async function reportCommand(
  paths: string[],
  options: ReplayOptions & { out: string },
  io: Io,
  engine: Engine,
): Promise<number> {
  // The verdict is told in its one sentence; the rest stands in the report.
  const replay = { ...options, quiet: true, html: options.out };
  const code = await replayCommand(paths, replay, io, engine);
  if (options.json !== true) await io.stdout.write(`report: ${options.out}\n`);
  return code;
}
