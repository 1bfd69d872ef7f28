// The schemas handfast speaks. Their grammars are built when first used: starting the program costs
// nothing.
import type { Grammar } from './grammar.ts';
import { buildGrammar } from './grammar-builder.ts';
import { APP_PROTOCOL } from './models/app-protocol.ts';
import { DIN_70121 } from './models/din70121.ts';
import { ISO_15118_2 } from './models/iso15118-2.ts';
import { ISO_15118_2_TYPES } from './models/iso15118-2-types.ts';
import { XML_SIGNATURE } from './models/xmldsig.ts';
import type { ModelText } from './notation.ts';
import type { Model } from './model.ts';
import { parseModel } from './notation.ts';

export type ExiSchema = 'app-protocol' | 'din70121' | 'iso15118-2';

const signature: ModelText = { name: 'xmldsig model', text: XML_SIGNATURE };

const texts: Record<ExiSchema, readonly ModelText[]> = {
  'app-protocol': [{ name: 'app-protocol model', text: APP_PROTOCOL }],
  din70121: [{ name: 'din70121 model', text: DIN_70121 }, signature],
  'iso15118-2': [
    { name: 'iso15118-2 types', text: ISO_15118_2_TYPES },
    { name: 'iso15118-2 model', text: ISO_15118_2 },
    signature,
  ],
};

const built = new Map<ExiSchema, Grammar>();

export function grammarOf(schema: ExiSchema): Grammar {
  let grammar = built.get(schema);
  if (grammar === undefined) {
    grammar = buildGrammar(schema, modelOf(schema));
    built.set(schema, grammar);
  }
  return grammar;
}

export function modelOf(schema: ExiSchema): Model {
  return parseModel(texts[schema]);
}
