// What every command is given, and where it leaves its exit code.
import type { Engine } from './engine.ts';
import type { Io } from './io.ts';

export interface Run {
  io: Io;
  engine: () => Promise<Engine>;
  /** The exit code of the command that ran. */
  code: number;
}
