// A capture of 200,000 packets decoded to its last message, the start of the program included, against tshark
// on the same file in the same run. The capture repeats the field captures, each time later.
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import ts from 'typescript';
import { PcapReader, isPcap } from '../../src/wire/capture/pcap.ts';
import { PcapngReader } from '../../src/wire/capture/pcapng.ts';
import { toolSkipped } from '../support/tools.ts';

const PACKETS = 200_000;
const ROUNDS = 5;
const FIELD = 'traces/field';
/** Seconds between the end of one session and the start of the next. */
const PAUSE_S = 5;

interface Recorded {
  bytes: Buffer;
  at_ns: number;
}

function fieldSessions(): Recorded[][] {
  return readdirSync(FIELD)
    .filter((file) => /\.pcap(ng)?$/.test(file))
    .sort()
    .map((file) => {
      const content = readFileSync(join(FIELD, file));
      const packets: Recorded[] = [];
      const sink = {
        packet: (each: { bytes: Uint8Array; start: number; end: number; at_ns: number }): void => {
          packets.push({
            bytes: Buffer.from(each.bytes.slice(each.start, each.end)),
            at_ns: each.at_ns,
          });
        },
        problem: (): void => undefined,
      };
      const reader = isPcap(content) ? new PcapReader(sink) : new PcapngReader(sink);
      reader.push(content);
      reader.end();
      return packets;
    });
}

function writeCapture(path: string): void {
  const head = Buffer.alloc(24);
  head.writeUInt32LE(0xa1b2c3d4, 0);
  head.writeUInt16LE(2, 4);
  head.writeUInt16LE(4, 6);
  head.writeUInt32LE(262_144, 16);
  head.writeUInt32LE(1, 20);
  const parts: Buffer[] = [head];
  const sessions = fieldSessions();
  let start_us = 1_767_225_600_000_000;
  for (let count = 0, index = 0; count < PACKETS; index++) {
    const session = sessions[index % sessions.length]!;
    let last_us = start_us;
    for (const { bytes, at_ns } of session) {
      if (count++ >= PACKETS) break;
      last_us = start_us + Math.round(at_ns / 1000);
      const record = Buffer.alloc(16);
      record.writeUInt32LE(Math.floor(last_us / 1_000_000), 0);
      record.writeUInt32LE(last_us % 1_000_000, 4);
      record.writeUInt32LE(bytes.length, 8);
      record.writeUInt32LE(bytes.length, 12);
      parts.push(record, bytes);
    }
    start_us = last_us + PAUSE_S * 1_000_000;
  }
  writeFileSync(path, Buffer.concat(parts));
}

/** The program as plain JavaScript: what runs is what is shipped, without a loader's start-up. */
function writeProgram(folder: string): string {
  for (const part of ['src/wire', 'src/trace']) {
    for (const file of readdirSync(part, { recursive: true, encoding: 'utf8' })) {
      if (!file.endsWith('.ts')) continue;
      const { outputText } = ts.transpileModule(readFileSync(join(part, file), 'utf8'), {
        compilerOptions: {
          target: ts.ScriptTarget.ES2023,
          module: ts.ModuleKind.ESNext,
          rewriteRelativeImportExtensions: true,
        },
      });
      const path = join(folder, part, file.replace(/\.ts$/, '.js'));
      mkdirSync(dirname(path), { recursive: true });
      writeFileSync(path, outputText);
    }
  }
  writeFileSync(join(folder, 'package.json'), '{"type":"module"}');
  const main = join(folder, 'main.js');
  writeFileSync(
    main,
    `import { createReadStream } from 'node:fs';
import { openCapture } from './src/wire/open.js';
const file = process.argv[2];
const capture = await openCapture(createReadStream(file, { highWaterMark: 1 << 18 }), file);
let messages = 0;
for await (const batch of capture.observations) messages += batch.filter((each) => each.kind === 'message').length;
console.log(messages, process.memoryUsage().rss);
`,
  );
  return main;
}

function timed_ms(command: string, args: string[]): { time_ms: number; output: string } {
  const start = performance.now();
  const { status, stdout } = spawnSync(command, args, {
    encoding: 'utf8',
    maxBuffer: 1 << 30,
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  if (status !== 0) throw new Error(`${command} ended with ${status}`);
  return { time_ms: performance.now() - start, output: stdout };
}

function median(values: number[]): number {
  return [...values].sort((left, right) => left - right)[values.length >> 1]!;
}

/** Lines for people: times, and how many times longer tshark takes. */
export async function run(): Promise<string[]> {
  const folder = mkdtempSync(join(tmpdir(), 'handfast-bench-wire-'));
  try {
    const capture = join(folder, 'large.pcap');
    writeCapture(capture);
    const program = writeProgram(folder);
    const fields = ['frame.number', 'frame.time_epoch', 'tcp.stream', 'tcp.payload'];
    const peers: [name: string, args: string[]][] = [
      ['-T fields', ['-r', capture, '-T', 'fields', ...fields.flatMap((field) => ['-e', field])]],
      ['-q', ['-r', capture, '-q']],
    ];
    const without = toolSkipped('tshark', 'capture decode against tshark');
    const ours: number[] = [];
    const theirs: number[][] = peers.map(() => []);
    let told = '';
    for (let round = 0; round < ROUNDS; round++) {
      const { time_ms, output } = timed_ms(process.execPath, [program, capture]);
      ours.push(time_ms);
      told = output;
      if (!without) {
        peers.forEach(([, args], index) => theirs[index]!.push(timed_ms('tshark', args).time_ms));
      }
    }
    const [messages, memory] = told.split(' ').map(Number);
    const lines = [
      `capture decode with start-up: ${PACKETS} packets, ${messages} messages in ${median(ours).toFixed(0)} ms, ${(memory! / 1e6).toFixed(0)} MB`,
    ];
    if (without) return lines;
    peers.forEach(([name], index) => {
      const time_ms = median(theirs[index]!);
      lines.push(
        `  tshark ${name}: ${time_ms.toFixed(0)} ms, ${(time_ms / median(ours)).toFixed(1)}x`,
      );
    });
    return lines;
  } finally {
    rmSync(folder, { recursive: true });
  }
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  console.log((await run()).join('\n'));
}
