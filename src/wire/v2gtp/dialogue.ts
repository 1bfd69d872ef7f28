// Which message set a connection speaks, and its EXI messages decoded with it: the application-protocol
// handshake decides; a connection joined behind it is tried with each.
import { decodeExi } from '../exi/codec.ts';
import { InputError } from '../../trace/input-error.ts';
import type { Json, JsonObject, ProtocolName } from '../../trace/observation.ts';

type MessageSet = 'din70121' | 'iso15118-2';

export interface Decoded {
  protocol: ProtocolName;
  name: string;
  message: JsonObject;
  header?: JsonObject;
  /** Something the trace should tell about this message. */
  note?: { says: string; unsupported: boolean };
}

/** By namespace, `from memory`; what else is offered (drafts, ISO 15118-20) is not read. */
const NAMESPACES: readonly [start: string, set: MessageSet][] = [
  ['urn:din:70121:2012:', 'din70121'],
  ['urn:iso:15118:2:2013:', 'iso15118-2'],
];

/** `undecided`: no handshake seen yet · `unsupported`: it chose a message set that is not read. */
type State = 'undecided' | 'unsupported' | MessageSet;

export class Dialogue {
  #state: State = 'undecided';
  #offered = new Map<number, string>();

  /**
   * Decodes one EXI payload; null for one of a message set that is not read.
   * @throws InputError with `place.byte` counted in the payload.
   */
  decode(payload: Uint8Array): Decoded | null {
    if (this.#state === 'undecided') return this.#decide(payload);
    if (this.#state === 'unsupported') return this.#tryHandshake(payload);
    try {
      return readMessage(this.#state, decodeExi(this.#state, payload));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      // A connection may do the handshake again.
      const handshake = this.#tryHandshake(payload);
      if (handshake === null) throw error;
      return handshake;
    }
  }

  #tryHandshake(payload: Uint8Array): Decoded | null {
    const document = attempt('app-protocol', payload);
    return document === null ? null : this.#handshake(document);
  }

  /** No handshake so far: the first message that fits one message set alone decides. */
  #decide(payload: Uint8Array): Decoded {
    const handshake = this.#tryHandshake(payload);
    if (handshake !== null) return handshake;
    const fits = (['iso15118-2', 'din70121'] as const)
      .map((set) => ({ set, document: attempt(set, payload) }))
      .filter(({ document }) => document !== null);
    const [first] = fits;
    if (first === undefined || fits.length > 1) {
      const what =
        first === undefined
          ? 'the message fits no known message set, and no handshake was seen'
          : 'the message fits two message sets, and no handshake was seen to choose one';
      throw new InputError(what, { byte: 0 }, 'record the connection from its start');
    }
    this.#state = first.set;
    const says = `no handshake was seen: messages are read as ${first.set}, which this one fits`;
    const decoded = readMessage(first.set, first.document!);
    return { ...decoded, note: { says, unsupported: false } };
  }

  #handshake(document: JsonObject): Decoded {
    const [name, content] = onlyElement(document);
    const decoded: Decoded = { protocol: 'app-protocol', name, message: content };
    if (name === 'supportedAppProtocolReq') {
      this.#offered = offeredProtocols(content['AppProtocol']);
      return decoded;
    }
    const chosen = this.#chosenNamespace(content);
    if (chosen === undefined) return decoded;
    const known = NAMESPACES.find(([start]) => chosen.trim().toLowerCase().startsWith(start));
    this.#state = known === undefined ? 'unsupported' : known[1];
    if (known !== undefined) return decoded;
    const says = `the sides agreed on ${chosen}, whose messages are not read: not observed`;
    return { ...decoded, note: { says, unsupported: true } };
  }

  /** The namespace whose SchemaID the answer names; undefined when it names none that was offered. */
  #chosenNamespace(answer: JsonObject): string | undefined {
    const code = answer['ResponseCode'];
    if (typeof code === 'string' && code.startsWith('Failed')) return undefined;
    const schema = answer['SchemaID'];
    if (schema === undefined && this.#offered.size === 1) return [...this.#offered.values()][0];
    return this.#offered.get(Number(schema));
  }
}

function attempt(schema: MessageSet | 'app-protocol', payload: Uint8Array): JsonObject | null {
  try {
    return decodeExi(schema, payload);
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}

function offeredProtocols(list: Json | undefined): Map<number, string> {
  const entries = Array.isArray(list) ? list : [list];
  const offered = new Map<number, string>();
  for (const entry of entries) {
    if (!isObject(entry)) continue;
    const namespace = entry['ProtocolNamespace'];
    if (typeof namespace === 'string') offered.set(Number(entry['SchemaID']), namespace);
  }
  return offered;
}

/** Header and the body's single element of a V2G message. */
function readMessage(protocol: MessageSet, document: JsonObject): Decoded {
  const body = document['Body'];
  if (!isObject(body)) throw new InputError('the message has no body', { byte: 0 }, '');
  const [name, message] = onlyElement(body);
  const header = document['Header'];
  return isObject(header) ? { protocol, name, message, header } : { protocol, name, message };
}

function onlyElement(parent: JsonObject): [name: string, content: JsonObject] {
  for (const name in parent) {
    const content = parent[name];
    if (isObject(content)) return [name, content];
  }
  throw new InputError('the message has no element', { byte: 0 }, '');
}

function isObject(value: Json | undefined): value is JsonObject {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
