// Mermaid text, line by line against the lexical grammar of stateDiagram-v2 and sequenceDiagram (Mermaid's
// stateDiagram.jison and sequenceDiagram.jison, from memory): ids are words; a description runs to the line's end and
// holds no colon and no semicolon but those of entities (`#59;`), which Mermaid takes out before it reads.
import { describe, expect, it } from 'vitest';
import { machineText } from '../../../src/report/draw/machine.ts';
import { sequenceMermaid } from '../../../src/report/draw/mermaid.ts';
import { machineOutline } from '../../../src/report/draw/outline.ts';
import { rowsOf, sequenceText } from '../../../src/report/draw/sequence.ts';
import { bundled, HOSTILE, sequenceOf, small } from './drawings.ts';

const WORDS = String.raw`(?:[^:;#"\n<>]|#\d+;)+`;
const STATE_LINES = [
  /^stateDiagram-v2$/,
  new RegExp(`^ *state "${WORDS}" as s\\d+ \\{$`),
  /^ *\}$/,
  /^ *\[\*\] --> s\d+$/,
  new RegExp(`^ *[so]\\d+ : ${WORDS}$`),
  new RegExp(`^  s\\d+ --> [so]\\d+ : ${WORDS}$`),
];
const SEQUENCE_LINES = [
  /^sequenceDiagram$/,
  /^  participant (vehicle|charger)$/,
  new RegExp(`^  Note over vehicle,charger: ${WORDS}$`),
  new RegExp(`^  (vehicle->>charger|charger->>vehicle): ${WORDS}$`),
];

function expectLines(text: string, allowed: readonly RegExp[]): void {
  expect(text.endsWith('\n')).toBe(true);
  for (const line of text.slice(0, -1).split('\n')) {
    if (!allowed.some((pattern) => pattern.test(line))) expect(line).toBe('a line of the grammar');
  }
}

describe('Mermaid text', () => {
  it('is of its grammar, with every state, for machines whole and in part', async () => {
    for (const [, machine] of [['small', await small()] as const, ...(await bundled())]) {
      const whole = machineText(machine, { depth: 99 });
      expectLines(whole, STATE_LINES);
      expectLines(machineText(machine), STATE_LINES);
      expectLines(machineText(machine, { only: 'transfer' }), STATE_LINES);
      const { states } = machineOutline(machine);
      const named = whole.match(/^ *(state ".*" as )?s\d+ (:|\{)/gm)!;
      expect(named.length).toBe(states.size);
      expect(whole.match(/\{$/gm)!.length).toBe(whole.match(/\}$/gm)!.length);
    }
  });

  it('is of its grammar for sessions, hostile ones too', async () => {
    const input = await sequenceOf('traces/field/din-closes-46v-apart.pcapng');
    expectLines(sequenceText(input), SEQUENCE_LINES);
    const rows = rowsOf(input).map((row) => ({ ...row, says: HOSTILE, name: HOSTILE }));
    expectLines(sequenceMermaid(HOSTILE, rows), SEQUENCE_LINES);
  });
});
