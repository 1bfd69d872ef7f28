// Asking a child process and waiting for its answer, without giving up the thread: a side in virtual time answers at once.
// A worker thread reads and writes the child's pipes; this thread sleeps until the worker wakes it, or time is up.
import {
  MessageChannel,
  receiveMessageOnPort,
  Worker,
  type MessagePort,
} from 'node:worker_threads';

/** What became of a question. */
export type Answer =
  | { readonly line: string }
  /** In words: it ended, it could not be started, its line was too long. */
  | { readonly fault: string };

export interface BridgeLimits {
  readonly line_bytes: number;
  readonly answer_ms: number;
}

const WOKEN = 0;
const PID = 1;
/** Closed bridges that are still being ended, and open ones: whatever ends this process ends the children. */
const open = new Set<Bridge>();
process.on('exit', () => {
  for (const bridge of open) bridge.close();
});

export class Bridge {
  readonly #shared = new Int32Array(new SharedArrayBuffer(8));
  readonly #port: MessagePort;
  readonly #worker: Worker;
  readonly #limits: BridgeLimits;

  constructor(command: readonly string[], limits: BridgeLimits) {
    const { port1, port2 } = new MessageChannel();
    this.#port = port1;
    this.#limits = limits;
    // The thread's code goes as text, so that it runs from source and from the built package alike; it uses nothing from
    // outside itself.
    this.#worker = new Worker(`(${carry.toString()})()`, {
      eval: true,
      workerData: { command, shared: this.#shared, port: port2, line_bytes: limits.line_bytes },
      transferList: [port2],
    });
    this.#worker.unref();
    open.add(this);
  }

  /** One line out, one line back, within `answer_ms`. */
  ask(line: string, answer_ms = this.#limits.answer_ms): Answer {
    Atomics.store(this.#shared, WOKEN, 0);
    // oxlint-disable-next-line unicorn/require-post-message-target-origin -- a port between threads has no origin
    this.#port.postMessage(line);
    const ended = Atomics.wait(this.#shared, WOKEN, 0, answer_ms);
    const got = receiveMessageOnPort(this.#port)?.message as Answer | undefined;
    if (got !== undefined) return got;
    return {
      fault: ended === 'timed-out' ? `gave no answer within ${answer_ms / 1000} s` : 'is gone',
    };
  }

  close(): void {
    open.delete(this);
    const pid = Atomics.exchange(this.#shared, PID, 0);
    if (pid > 0) {
      try {
        // The child leads a group of its own: what it has started ends with it.
        process.kill(-pid, 'SIGKILL');
      } catch {
        // It has ended by itself.
      }
    }
    this.#port.close();
    void this.#worker.terminate();
  }
}

/** Runs in the worker thread, as text. */
function carry(): void {
  const { spawn } = process.getBuiltinModule('node:child_process');
  const { workerData } = process.getBuiltinModule('node:worker_threads');
  const { command, shared, port, line_bytes } = workerData as {
    command: [string, ...string[]];
    shared: Int32Array;
    port: MessagePort;
    line_bytes: number;
  };
  let fault: string | null = null;
  let rest = '';
  let asked = false;
  const answer = (message: Answer): void => {
    if (!asked) return;
    asked = false;
    port.postMessage(message);
    Atomics.store(shared, 0, 1);
    Atomics.notify(shared, 0);
  };
  const fail = (says: string): void => {
    fault ??= says;
    answer({ fault });
  };
  const child = spawn(command[0], command.slice(1), {
    stdio: ['pipe', 'pipe', 'inherit'],
    detached: true,
  });
  Atomics.store(shared, 1, child.pid ?? 0);
  child.on('error', (error: Error) => fail(`could not be started: ${error.message}`));
  child.on('exit', (code: number | null, signal: string | null) => {
    Atomics.store(shared, 1, 0);
    fail(signal === null ? `ended with exit code ${code}` : `was ended by ${signal}`);
  });
  child.stdin.on('error', () => {});
  child.stdout.setEncoding('utf8');
  child.stdout.on('data', (chunk: string) => {
    rest += chunk;
    const end = rest.indexOf('\n');
    if (end < 0) {
      if (rest.length > line_bytes) fail(`wrote a line of more than ${line_bytes} bytes`);
      return;
    }
    const line = rest.slice(0, end);
    rest = rest.slice(end + 1);
    if (line.length > line_bytes) fail(`wrote a line of more than ${line_bytes} bytes`);
    else if (rest.includes('\n')) fail('wrote more than one line for an answer');
    else if (!asked) fail('wrote a line before it was asked');
    else answer({ line });
  });
  port.on('message', (line: string) => {
    asked = true;
    if (fault === null) child.stdin.write(`${line}\n`);
    else answer({ fault });
  });
}
