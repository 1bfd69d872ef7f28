// `handfast draw`: machines and message sequences as SVG or Mermaid.
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import type { SideMachine } from '../machine/convention.ts';
import { loadMachine } from '../machine/load.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import { openFile } from '../replay/open.ts';
import { replayTrace } from '../replay/replay.ts';
import type { SidePair } from '../replay/conformance.ts';
import type { Watcher } from '../replay/watch.ts';
import { drawMachine, machineText } from '../report/draw/machine.ts';
import { machineOutline } from '../report/draw/outline.ts';
import type { Overlay } from '../report/draw/overlay.ts';
import { coverageOverlay } from '../report/draw/proof-coverage.ts';
import { drawSequence, sequenceText, rowsOf } from '../report/draw/sequence.ts';
import { SequenceRecorder } from '../report/draw/sequence-steps.ts';
import type { Theme } from '../report/draw/theme.ts';
import { PathRecorder } from '../report/draw/trace-path.ts';
import { json } from '../report/json.ts';
import type { FileResult } from '../rules/result.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import { InputError } from '../trace/input-error.ts';
import type { Side } from '../trace/observation.ts';
import { machinesOf } from './bundled-engine.ts';
import { UsageError } from './errors.ts';
import { EXIT } from './exit.ts';
import type { CommonOptions, Io } from './io.ts';
import { expectWritable, writeText } from './write-file.ts';

interface DrawCommon extends CommonOptions {
  out?: string;
  format: 'svg' | 'mermaid';
  theme: Theme;
  session?: string;
}

export interface DrawMachineOptions extends DrawCommon {
  protocol?: SessionProtocol;
  side?: Side;
  machine?: string;
  only?: string;
  depth?: number;
  path?: string[];
  proof?: string;
}

export async function drawMachineCommand(options: DrawMachineOptions, io: Io): Promise<number> {
  const { path = [], proof, session, only, depth, theme } = options;
  if (path.length > 0 && proof !== undefined) throw new UsageError('give --path or --proof');
  if (session !== undefined && path.length !== 1) {
    throw new UsageError('--session is one of a single --path');
  }
  if (options.out !== undefined) await expectWritable(options.out);
  const machine = await machineOf(options);
  const view = {
    ...(only === undefined ? {} : { only }),
    ...(depth === undefined ? {} : { depth }),
  };
  if (options.json === true) return print(json(outlineJson(machine)), options, io);
  if (options.format === 'mermaid') {
    if (path.length > 0 || proof !== undefined) throw new UsageError('only SVG has marks');
    return print(machineText(machine, view), options, io);
  }
  const overlay = await overlayOf(machine, options);
  return print(await drawMachine(machine, overlay, { ...view, theme }), options, io);
}

function outlineJson(machine: SideMachine): object {
  const { states, ...rest } = machineOutline(machine);
  return { schemaVersion: 1, ...rest, states: [...states.values()] };
}

async function machineOf({ machine, protocol, side }: DrawMachineOptions): Promise<SideMachine> {
  if (machine !== undefined) {
    if (protocol !== undefined) throw new UsageError('a --machine says its protocol itself');
    return loadMachine(machine, side);
  }
  if (side === undefined) throw new UsageError('name a --side, or a --machine of your own');
  return (await machinesOf(protocol ?? 'din70121'))[side];
}

async function overlayOf(
  machine: SideMachine,
  { path = [], proof, session }: DrawMachineOptions,
): Promise<Overlay | null> {
  if (proof !== undefined) return proofOverlay(machine, proof);
  if (path.length === 0) return null;
  const recorder = new PathRecorder(machine, session ?? null);
  for (const one of path) expectSession(await replay(one, recorder, machine), session);
  const of = session === undefined ? '' : `, session ${session}`;
  return recorder.overlay(`the way of ${path.map((one) => basename(one)).join(', ')}${of}`);
}

/** A machine of one's own is followed instead of the bundled one of its side and protocol. */
async function replay(path: string, watcher: Watcher, own?: SideMachine): Promise<FileResult> {
  const machines = async (protocol: SessionProtocol): Promise<SidePair> => {
    const pair = await machinesOf(protocol);
    return own?.protocol === protocol ? { ...pair, [own.side]: own } : pair;
  };
  const trace = await openFile(path, []);
  return replayTrace(trace, path, { machines, strict: false, crashDeadline_ms: 100, watcher });
}

function expectSession({ sessions, file }: FileResult, id: string | undefined): void {
  if (id === undefined || sessions.some((one) => one.id === id)) return;
  const ids = sessions.map((one) => one.id);
  const mend = ids.length === 0 ? 'it has none' : `it has ${ids.slice(0, 20).join(', ')}`;
  throw new InputError(`there is no session ${id}`, { file }, mend);
}

const PROOF_BYTES_AT_MOST = 64 * 1024 * 1024;

async function proofOverlay(machine: SideMachine, file: string): Promise<Overlay> {
  const text = await readFile(file, 'utf8');
  const mend = 'give what `handfast prove --json` printed';
  if (text.length > PROOF_BYTES_AT_MOST) throw new InputError('is too long', { file }, mend);
  let proof: Partial<ProveResult> | null;
  try {
    proof = JSON.parse(text) as Partial<ProveResult> | null;
  } catch {
    throw new InputError('is not JSON', { file }, mend);
  }
  const coverage = proof?.coverage?.[machine.side];
  const isCoverage =
    Array.isArray(coverage?.states?.missed) && Array.isArray(coverage.transitions?.missed);
  if (!isCoverage) throw new InputError('is no proof with its coverage', { file }, mend);
  if (proof?.protocol !== machine.protocol) {
    throw new InputError(`is a proof of ${String(proof?.protocol)}`, { file }, mend);
  }
  const says = `what the proof in ${basename(file)} reached`;
  return coverageOverlay(machineOutline(machine), coverage, says);
}

export async function drawSequenceCommand(
  path: string,
  options: DrawCommon,
  io: Io,
): Promise<number> {
  if (options.out !== undefined) await expectWritable(options.out);
  const recorder = new SequenceRecorder();
  const result = await replay(path, recorder);
  const [first, ...others] = result.sessions;
  if (first === undefined) {
    throw new InputError('holds no session', { file: path }, 'give a recording of one');
  }
  expectSession(result, options.session);
  if (options.session === undefined && others.length > 0) {
    const ids = result.sessions.slice(0, 20).map(({ id }) => id);
    throw new UsageError(`${path} has several sessions; name one: --session ${ids.join(', ')}`);
  }
  const session = result.sessions.find(({ id }) => id === options.session) ?? first;
  const input = { file: basename(path), session, recorded: recorder.sessions.get(session.id)! };
  if (options.json === true) {
    return print(json({ schemaVersion: 1, session: session.id, rows: rowsOf(input) }), options, io);
  }
  const drawn = options.format === 'svg' ? drawSequence(input, options.theme) : sequenceText(input);
  return print(drawn, options, io);
}

async function print(text: string, { out, quiet }: DrawCommon, io: Io): Promise<number> {
  if (out === undefined) await io.stdout.write(text);
  else {
    await writeText(out, text);
    if (quiet !== true) await io.stdout.write(`${out} written\n`);
  }
  return EXIT.holds;
}
