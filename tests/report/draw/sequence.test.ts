// Message sequences: everything told once, repeats folded, findings in place, hostile text inert.
import { describe, expect, it } from 'vitest';
import { drawSequence, rowsOf } from '../../../src/report/draw/sequence.ts';
import { HOSTILE, sequenceOf, textOf } from './drawings.ts';

const BROKEN = 'traces/field/din-closes-46v-apart.pcapng';

describe('a message sequence', () => {
  it('tells or folds every message', async () => {
    const input = await sequenceOf(BROKEN);
    const rows = rowsOf(input);
    const shown = rows.filter(({ kind }) => kind === 'message').length;
    const folded = rows.reduce((sum, row) => sum + (row.kind === 'repeats' ? 2 * row.count : 0), 0);
    expect(shown + folded).toBe(input.recorded.steps.filter(({ from }) => from !== null).length);
    expect(
      rows.some((row) => row.kind === 'repeats' && row.says.startsWith('20 × CurrentDemand,')),
    ).toBe(true);
  });

  it('has a finding after its message', async () => {
    const rows = rowsOf(await sequenceOf(BROKEN));
    const at = rows.findIndex(({ kind }) => kind === 'finding');
    expect(rows[at]).toMatchObject({ says: expect.stringContaining('breach by the vehicle') });
    expect(rows[at - 1]).toMatchObject({ frame: 63, name: 'PowerDeliveryReq', marks: ['F1'] });
  });

  it('shows the message that began a deadline', async () => {
    const input = await sequenceOf('traces/field/iso2-ignores-stop-request.pcapng');
    const [{ deadline }] = input.session.findings as [(typeof input.session.findings)[number]];
    expect(deadline!.armedFrame).toBe(96);
    expect(rowsOf(input)).toContainEqual(expect.objectContaining({ kind: 'message', frame: 96 }));
  });

  it('shows what other recorders saw', async () => {
    const words = textOf(drawSequence(await sequenceOf('traces/demo/contactor-weld.jsonl')));
    expect(words).toContain('contactor of the vehicle closed');
    expect(words).toContain('pilot C2');
  });

  it('is inert and the same every time', async () => {
    const input = await sequenceOf(BROKEN);
    const steps = input.recorded.steps.map((step) => ({ ...step, says: HOSTILE, name: HOSTILE }));
    const spoilt = { ...input, file: HOSTILE, recorded: { steps, omitted: 3 } };
    const svg = drawSequence(spoilt);
    expect(textOf(svg)).toContain('3 later steps not kept');
    for (const one of ['<script', '\u0000', '\u202e']) expect(svg).not.toContain(one);
    expect(drawSequence(spoilt)).toBe(svg);
  });
});
