// What an action puts out, in words: `PowerDeliveryReq progress stop`, `contactors open`.
import { branches } from '../../machine/branches.ts';
import type { Drive, MachineEvent, Send, SideMachine } from '../../machine/convention.ts';

interface Action {
  readonly type?: string;
  readonly params?: unknown;
}

type Params = (scope: { context: unknown; event: MachineEvent }) => unknown;

/** Nothing for an action that is no output (timers, the context). */
export function outputWords(action: unknown, side: SideMachine, event: string): string[] {
  const { type, params } = Object(action) as Action;
  if (type !== 'send' && type !== 'drive') return [];
  if (typeof params !== 'function') return [paramWords(type, params)];
  const { context } = side.machine.config;
  const tried = branches({ type: event }, side.alphabet[event] ?? {}, (one) =>
    paramWords(type, (params as Params)({ context: context ?? {}, event: one })),
  );
  const words = [...new Set(tried.map(({ result }) => result))];
  // More than a few variants differ in facts the event brings: the message's name says enough.
  return words.length <= 2 ? [words.join(' or ')] : [words[0]!.split(' ')[0]!];
}

function paramWords(type: 'send' | 'drive', params: unknown): string {
  if (type === 'drive') {
    const { what, to } = params as Drive;
    return `${what} ${to}`;
  }
  const { message, ...facts } = params as Send;
  const told = Object.entries(facts).filter(([fact, value]) => value !== USUAL[fact]);
  return [message, ...told.map(([fact, value]) => `${fact} ${value}`)].join(' ');
}

/** Facts in their everyday value, which tell nothing. */
const USUAL: Readonly<Record<string, string>> = {
  session: 'this',
  code: 'ok',
  error: 'none',
  ready: 'yes',
  complete: 'no',
};
