#!/usr/bin/env node
// The process around the command line: its streams, its signals, its exit code.
import { availableParallelism } from 'node:os';
import type { Io, Output } from './io.ts';
import { run } from './run.ts';

const interruption = new AbortController();

process.on('SIGINT', () => {
  if (interruption.signal.aborted) {
    // The second Ctrl-C waits for nothing, not even for a read that never returns: the signal itself ends us.
    process.removeAllListeners('SIGINT');
    process.kill(process.pid, 'SIGINT');
    return;
  }
  process.stderr.write(
    '\nhandfast: interrupted; telling what is finished (again to stop at once)\n',
  );
  interruption.abort();
});

const io: Io = {
  // Touched only when read: it may be shared with another process, and Node makes it non-blocking.
  get stdin() {
    return process.stdin;
  },
  stdout: outputTo(process.stdout),
  stderr: outputTo(process.stderr),
  env: process.env,
  cores: availableParallelism(),
  interrupted: interruption.signal,
};

const code = await run(process.argv.slice(2), io);
process.exitCode = code;
if (interruption.signal.aborted) {
  // An interrupted file may still be read in the background, even in a read that never returns, which exit()
  // waits for: from here on another Ctrl-C ends the process as if nobody listened.
  process.removeAllListeners('SIGINT');
  process.exit();
}

function outputTo(stream: NodeJS.WriteStream): Output {
  let closed = false;
  stream.on('error', (error: NodeJS.ErrnoException) => {
    // Whoever read the output has seen enough (`| head`); that is no failure of ours.
    if (error.code !== 'EPIPE') throw error;
    closed = true;
  });
  return {
    get isTTY() {
      return stream.isTTY === true;
    },
    get columns() {
      return stream.columns;
    },
    get closed() {
      return closed;
    },
    stream,
    write: (text) =>
      closed || text === ''
        ? Promise.resolve()
        : new Promise((resolve) => {
            stream.write(text, () => resolve());
          }),
  };
}
