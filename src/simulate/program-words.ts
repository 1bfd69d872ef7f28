// What a controller in another language is told and may say (controller.schema.json), and its check.
import type { Numbers } from '../protocols/system-c/compose.ts';
import { compose } from '../protocols/system-c/compose.ts';
import type { SystemCProtocol } from '../protocols/system-c/body-parts.ts';
import type { V2gEvent } from '../protocols/system-c/event.ts';
import { protocols } from '../protocols/index.ts';
import { readMessage } from '../protocols/system-c/reading.ts';
import type { JsonObject, Side as SideName } from '../trace/observation.ts';
import type { Output, Reaction, Sight } from './side.ts';

export const CONTROLLER_VERSION = 1;
const MOST_OUTPUTS = 16;

/** A sight as JSON; a message with its facts and amounts beside its content. */
export function sightWords(
  sight: Sight,
  event: V2gEvent | null,
  protocol: SystemCProtocol,
): JsonObject {
  const { at_ns: _, ...seen } = sight;
  if (sight.kind !== 'message') return seen as unknown as JsonObject;
  const { type: _type, ...facts } = event ?? { type: '' };
  const { name, message, header } = sight;
  const reading = readMessage(sight, protocols[protocol].dialect);
  const { targetVoltage_V, targetCurrent_A, presentVoltage_V, presentCurrent_A, limits } = reading;
  const said = { targetVoltage_V, targetCurrent_A, presentVoltage_V, presentCurrent_A, limits };
  const known = Object.entries(said).filter(([, value]) => value !== undefined);
  const numbers = Object.fromEntries(known) as JsonObject;
  return { kind: 'message', name, facts, numbers, message, ...(header ? { header } : {}) };
}

export interface Speaker {
  readonly side: SideName;
  readonly protocol: SystemCProtocol;
  readonly sessionId: string;
}

/** An answer of a controller as a reaction; in words what is wrong with it, where something is. */
export function reactionOf(line: string, at_s: number, speaker: Speaker): Reaction | string {
  let answer: unknown;
  try {
    answer = JSON.parse(line);
  } catch {
    return `answered with what is no JSON: ${shown(line)}`;
  }
  if (!isObject(answer)) return `answered with no object: ${shown(line)}`;
  const { outputs, wakeAt } = answer;
  if (!Array.isArray(outputs)) return 'answered without a list of outputs';
  if (outputs.length > MOST_OUTPUTS) return `answered with more than ${MOST_OUTPUTS} outputs`;
  if (wakeAt !== null && wakeAt !== undefined && typeof wakeAt !== 'number') {
    return 'answered with a wakeAt that is neither a number of seconds nor null';
  }
  const done: Output[] = [];
  for (const output of outputs) {
    const one = outputOf(output, speaker);
    if (typeof one === 'string') return one;
    done.push(one);
  }
  const wakes = typeof wakeAt === 'number' && Number.isFinite(wakeAt);
  const wake_ns = wakes ? Math.round(Math.max(wakeAt, at_s) * 1e9) : null;
  return { outputs: done, wakeAt_ns: wake_ns };
}

const DRIVES: Readonly<Record<SideName, Readonly<Record<string, readonly string[]>>>> = {
  vehicle: {
    contactors: ['open', 'closed'],
    lock: ['locked', 'unlocked'],
    pilot: ['B', 'C'],
  },
  charger: { output: ['off', 'test', 'precharge', 'on'], pilot: ['X1', 'X2'] },
};
const ALARMS: ReadonlySet<unknown> = new Set(['none', 'stop asked', 'fault', 'emergency', 'crash']);

function outputOf(output: unknown, speaker: Speaker): Output | string {
  if (!isObject(output))
    return `gave an output that is no object: ${shown(JSON.stringify(output))}`;
  if (typeof output['send'] === 'string') return sendOf(output['send'], output, speaker);
  if (typeof output['drive'] === 'string') return driveOf(output['drive'], output, speaker.side);
  if (ALARMS.has(output['alarm'])) return { do: 'alarm', alarm: output['alarm'] as 'fault' };
  if (output['close'] === true) return { do: 'close' };
  return `gave an output of no known kind: ${shown(JSON.stringify(output))}`;
}

/** What is no amount a power stage could hold is none. */
function amount(value: unknown): number {
  return typeof value === 'number' && value >= 0 && value <= 1e5 ? value : 0;
}

function driveOf(what: string, { to, voltage_V, current_A }: JsonObject, side: SideName) {
  const states = Object.hasOwn(DRIVES[side], what) ? DRIVES[side][what]! : [];
  if (!states.includes(to as string))
    return `a ${side} cannot drive ${shown(`${what} to ${String(to)}`)}`;
  if (what !== 'output') return { do: what, to } as Output;
  const set = { voltage_V: amount(voltage_V), current_A: amount(current_A) };
  return { do: 'output', to: to as 'on', ...set } as const;
}

function sendOf(name: string, output: JsonObject, speaker: Speaker): Output | string {
  const end = speaker.side === 'vehicle' ? 'Req' : 'Res';
  if (!name.endsWith(end)) return `a ${speaker.side} cannot send ${shown(name)}`;
  const facts = isObject(output['facts']) ? output['facts'] : {};
  const numbers = isObject(output['numbers']) ? output['numbers'] : {};
  const words: Record<string, string> = {};
  for (const [fact, value] of Object.entries(facts))
    if (typeof value === 'string') words[fact] = value;
  try {
    const { protocol, sessionId } = speaker;
    const composed = compose(
      protocol,
      { session: 'this', ...words, message: name },
      {
        ...amounts(numbers),
        sessionId,
      },
    );
    return { do: 'send', ...composed };
  } catch (error) {
    if (error instanceof RangeError) return error.message;
    throw error;
  }
}

const AMOUNTS: readonly (keyof Numbers)[] = [
  'targetVoltage_V',
  'targetCurrent_A',
  'stateOfCharge_percent',
  'presentVoltage_V',
  'presentCurrent_A',
  'noticeDelay_s',
];

/** Finite amounts by their names; limits as an object of volts, amperes and watts. */
function amounts(given: JsonObject): Partial<Numbers> {
  const found: Record<string, number | Record<string, number>> = {};
  for (const name of AMOUNTS) {
    const value = given[name];
    if (typeof value === 'number' && Math.abs(value) <= 1e6) found[name] = value;
  }
  const { limits } = given;
  if (isObject(limits)) {
    const { voltage_V = 0, current_A = 0, power_W } = limits;
    if (typeof voltage_V === 'number' && typeof current_A === 'number') {
      const power = typeof power_W === 'number' ? { power_W } : {};
      found['vehicleLimits'] = { voltage_V, current_A, ...power };
      found['chargerLimits'] = { voltage_V, current_A, ...power };
    }
  }
  return found as Partial<Numbers>;
}

function isObject(value: unknown): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/** The beginning of what came, without what a terminal would obey. */
export function shown(text: string): string {
  const clean = text.replaceAll(/[^\x20-\x7e]/g, '?');
  return clean.length > 60 ? `${clean.slice(0, 60)}…` : clean;
}
