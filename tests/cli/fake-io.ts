// The world around a command, in memory.
import type { Io, Output } from '../../src/cli/io.ts';

export interface FakeIo {
  io: Io;
  stdout: () => string;
  stderr: () => string;
  interrupt: () => void;
}

export interface Fakes {
  stdin?: string | Uint8Array[];
  env?: Record<string, string>;
  terminal?: boolean;
  columns?: number;
  /** The reader of stdout goes away after so many characters. */
  closesAfter?: number;
}

export function fakeIo(fakes: Fakes = {}): FakeIo {
  const abort = new AbortController();
  const out = fakeOutput(fakes, fakes.closesAfter);
  const err = fakeOutput(fakes);
  return {
    io: {
      stdin: chunks(fakes.stdin ?? ''),
      stdout: out.output,
      stderr: err.output,
      env: fakes.env ?? {},
      cores: 1,
      interrupted: abort.signal,
    },
    stdout: out.text,
    stderr: err.text,
    interrupt: () => abort.abort(),
  };
}

function fakeOutput(
  { terminal = false, columns }: Fakes,
  closesAfter = Infinity,
): { output: Output; text: () => string } {
  let text = '';
  return {
    text: () => text,
    output: {
      write: async (more) => {
        text = (text + more).slice(0, closesAfter);
      },
      isTTY: terminal,
      columns,
      get closed() {
        return text.length >= closesAfter;
      },
    },
  };
}

async function* chunks(input: string | Uint8Array[]): AsyncGenerator<Uint8Array, void, void> {
  if (typeof input === 'string') yield Buffer.from(input);
  else yield* input;
}
