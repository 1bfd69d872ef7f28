// The vector files: schema, file and how many they hold.
import type { JsonObject } from '../../../src/trace/observation.ts';
import type { ExiSchema } from '../../../src/wire/exi/codec.ts';

export interface Vector {
  exi: string;
  message: JsonObject;
}

export const FILES: [schema: ExiSchema, file: string, count: number][] = [
  ['app-protocol', 'exi-app-protocol', 20],
  ['din70121', 'exi-din70121', 68],
  ['iso15118-2', 'exi-iso15118-2', 96],
  ['iso15118-2', 'exi-iso15118-2-signed', 6],
];
