// A command line, run: everything it prints goes to `io`, what it came to is the exit code.
import { CommanderError, type Command } from 'commander';
import { plain } from '../report/plain.ts';
import { InputError } from '../trace/input-error.ts';
import type { Engine } from './engine.ts';
import {
  ConfigurationError,
  faultLine,
  isSystemError,
  systemReason,
  UsageError,
} from './errors.ts';
import { EXIT } from './exit.ts';
import type { Io } from './io.ts';
import { programOf } from './program.ts';
import type { Run } from './run-state.ts';

const bundled = async (): Promise<Engine> => (await import('./bundled-engine.ts')).bundledEngine;

/** Never rejects. `argv` holds the words after the program's name. */
export async function run(
  argv: string[],
  io: Io,
  engine: () => Promise<Engine> = bundled,
): Promise<number> {
  const state: Run = { io, engine, code: EXIT.holds };
  const written: Promise<void>[] = [];
  const program = programOf(state);
  const inner = program.commands.flatMap(({ commands }) => commands);
  for (const command of [program, ...program.commands, ...inner]) {
    quietly(command, io, written);
  }
  try {
    await program.parseAsync(argv, { from: 'user' });
    return state.code;
  } catch (error) {
    const { code, line } = failure(error, argv.includes('--debug'));
    if (line !== null) await io.stderr.write(`${line}\n`);
    return code;
  } finally {
    await Promise.all(written);
  }
}

/** Commander prints through us and never ends the process. */
function quietly(command: Command, io: Io, written: Promise<void>[]): void {
  const width = Math.min(io.stdout.columns ?? 80, 100);
  command.exitOverride().configureOutput({
    writeOut: (text) => written.push(io.stdout.write(text)),
    writeErr: (text) => written.push(io.stderr.write(text)),
    outputError: (text, write) => {
      write(plainLines(text.replace(/^error: /, 'handfast: ')));
    },
    getOutHelpWidth: () => width,
    getErrHelpWidth: () => width,
    getOutHasColors: () => false,
    getErrHasColors: () => false,
  });
}

function plainLines(text: string): string {
  return text.split('\n').map(plain).join('\n');
}

function failure(error: unknown, debug: boolean): { code: number; line: string | null } {
  if (error instanceof CommanderError) {
    // Help and version end in a CommanderError of exit code 0; what was wrong is printed already.
    return { code: error.exitCode === 0 ? EXIT.holds : EXIT.usage, line: null };
  }
  if (error instanceof UsageError) {
    return { code: EXIT.usage, line: `handfast: ${plain(error.message)} (--help tells more)` };
  }
  if (error instanceof ConfigurationError) {
    return { code: EXIT.usage, line: `handfast: ${plain(error.message)}` };
  }
  if (error instanceof InputError) {
    return { code: EXIT.unreadable, line: `handfast: ${plain(error.message)}` };
  }
  if (isSystemError(error) && error.path !== undefined) {
    const says = `${error.path}: ${systemReason(error)}`;
    return { code: EXIT.unreadable, line: `handfast: ${plain(says)}` };
  }
  return { code: EXIT.fault, line: faultLine(error, '', debug) };
}
