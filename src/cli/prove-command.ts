// `handfast prove`: is there any sequence in which a rule breaks?
import { join } from 'node:path';
import { protocols } from '../protocols/index.ts';
import { json } from '../report/json.ts';
import { lookOf } from '../report/look.ts';
import { proveText } from '../report/text-prove.ts';
import type { Model } from '../search/model/form.ts';
import { prove } from '../search/prove/prove.ts';
import type { Recording } from '../search/prove/recording.ts';
import type { ProveResult } from '../search/prove/prove-result.ts';
import { machinesOf } from './bundled-engine.ts';
import { expectCheckFiles, wantsCheckFiles, writeCheckFiles } from './check-files.ts';
import { EXIT } from './exit.ts';
import { wantsColor, widthOf, type Io } from './io.ts';
import type { FoundWay } from './found-report.ts';
import { DEFAULT_FAULTS, PROVE_LIMITS, type ProveCommandOptions } from './prove-options.ts';
import { shellCommand } from './shell.ts';
import { expectWritable, makeFolder, writeText } from './write-file.ts';

export async function proveCommand(options: ProveCommandOptions, io: Io): Promise<number> {
  await expectCheckFiles(options);
  if (options.html !== undefined) await expectWritable(options.html);
  if (options.traces !== undefined) await makeFolder(options.traces);
  const bundled = await machinesOf(options.protocol);
  const { loadMachine } = await import('../machine/load.ts');
  const load = (path: string | undefined, side: 'vehicle' | 'charger') =>
    path === undefined ? bundled[side] : loadMachine(path, side);
  const machines = {
    vehicle: await load(options.vehicle, 'vehicle'),
    charger: await load(options.charger, 'charger'),
  };
  const ways: FoundWay[] = [];
  const watched = io.stderr.isTTY && !options.quiet;
  const result = await prove({
    ...machines,
    protocol: protocols[options.protocol],
    faults: options.faults,
    ...(options.alone === undefined ? {} : { alone: options.alone }),
    safeEnd: options.safeEnd === true,
    untimed: options.untimed === true,
    limits: {
      states: options.states,
      memory_bytes: options.memory * 2 ** 20,
      time_s: options.time,
    },
    signal: io.interrupted,
    onModel: (model) => writePromela(model, options.promela),
    onBroken: (rule, recording) => {
      if (options.html !== undefined) ways.push({ rule, ...recording });
      return writeRecording(rule, recording, options);
    },
    onProgress: ({ states, depth, frontier, seconds }) => {
      if (!watched) return;
      const rate = Math.round(states / Math.max(seconds, 0.001));
      void io.stderr.write(`\r${states} states, depth ${depth}, frontier ${frontier}, ${rate}/s `);
    },
  });
  if (watched) await io.stderr.write('\r\u001b[K');
  await io.stdout.write(
    options.json === true
      ? json(result)
      : proveText(
          result,
          lookOf(widthOf(io.stdout, options), wantsColor(io.stdout, options, io.env)),
          { again: againOf(options), quiet: options.quiet === true },
        ),
  );
  await checked(result, options);
  if (options.html !== undefined) {
    const { writeFoundReport } = await import('./found-report.ts');
    await writeFoundReport(
      options.html,
      ways,
      { [options.protocol]: machines },
      { title: `proof of ${options.protocol}`, proof: result, again: againOf(options) },
    );
  }
  if (io.interrupted.aborted) return EXIT.interrupted;
  return codeOf(result);
}

async function checked(result: ProveResult, options: ProveCommandOptions): Promise<void> {
  if (!wantsCheckFiles(options)) return;
  const { checksOfProof } = await import('../report/checks-prove.ts');
  const { vehicle, charger } = options;
  const files = {
    ...(vehicle === undefined ? {} : { vehicle }),
    ...(charger === undefined ? {} : { charger }),
  };
  await writeCheckFiles(checksOfProof(result, files, againOf(options)), options);
}

async function writeRecording(
  rule: string,
  { header, observations }: Recording,
  { traces, protocol }: ProveCommandOptions,
): Promise<string | null> {
  if (traces === undefined) return null;
  const { headerLine, observationLine } = await import('../trace/writer.ts');
  const lines = [headerLine(header), ...observations.map(observationLine)];
  const path = join(traces, `${protocol}-${rule}.jsonl`);
  await writeText(path, lines.map((line) => `${line}\n`).join(''));
  return path;
}

const LIMITS = ['states', 'memory', 'time'] as const;

/** What decides the search; limits are not repeated where they are the usual ones. */
function againOf(options: ProveCommandOptions): string {
  const { protocol, vehicle, charger, faults, alone } = options;
  return shellCommand([
    'handfast',
    'prove',
    '--protocol',
    protocol,
    ...(vehicle === undefined ? [] : ['--vehicle', vehicle]),
    ...(charger === undefined ? [] : ['--charger', charger]),
    ...(faults === DEFAULT_FAULTS ? [] : ['--faults', `${faults}`]),
    ...(alone === undefined ? [] : ['--alone', alone]),
    ...(options.safeEnd === true ? ['--safe-end'] : []),
    ...(options.untimed === true ? ['--untimed'] : []),
    ...LIMITS.flatMap((limit) =>
      options[limit] === PROVE_LIMITS[limit] ? [] : [`--${limit}`, `${options[limit]}`],
    ),
  ]);
}

async function writePromela(model: Model, path: string | undefined): Promise<void> {
  if (path === undefined) return;
  const { promelaOf } = await import('../search/promela.ts');
  await writeText(path, promelaOf(model));
}

function codeOf({ verdict }: ProveResult): number {
  return verdict === 'broken'
    ? EXIT.broken
    : verdict === 'inconclusive' || verdict === 'vacuous'
      ? EXIT.inconclusive
      : EXIT.holds;
}
