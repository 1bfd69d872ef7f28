// EXI streams of charging messages ↔ message objects.
//
// Notation of messages: a V2G message is `{Header, Body: {NAME: …}}`, an application-protocol
// message `{NAME: …}`; attributes as `@Name`; the value of a type that may have attributes as `$`;
// an element that may repeat is always an array; `long`, `unsignedLong` and `integer` are decimal
// strings; hexBinary is upper-case hexadecimal; base64Binary is base64; an empty element is `{}`.
// Keys come in the order of the schema.
import type { JsonObject } from '../../trace/observation.ts';
import { Decoder } from './decoder.ts';
import { Encoder } from './encoder.ts';
import type { ExiSchema } from './schemas.ts';
import { grammarOf } from './schemas.ts';

export type { ExiSchema } from './schemas.ts';

const decoders = new Map<ExiSchema, Decoder>();
const encoders = new Map<ExiSchema, Encoder>();

/**
 * The message in `bytes`. Throws InputError, with the 0-based offset of the byte where reading
 * failed, for anything that is no message of the schema. Zero bytes after the message are passed
 * over, others refused.
 */
export function decodeExi(schema: ExiSchema, bytes: Uint8Array): JsonObject {
  let decoder = decoders.get(schema);
  if (decoder === undefined) {
    decoder = new Decoder(grammarOf(schema));
    decoders.set(schema, decoder);
  }
  return decoder.decode(bytes);
}

/**
 * The bytes of `message`. Throws InputError that names the path of what the schema does not allow.
 */
export function encodeExi(schema: ExiSchema, message: JsonObject): Uint8Array {
  let encoder = encoders.get(schema);
  if (encoder === undefined) {
    encoder = new Encoder(grammarOf(schema));
    encoders.set(schema, encoder);
  }
  return encoder.encode(message);
}
