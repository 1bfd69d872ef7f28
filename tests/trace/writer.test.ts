import { Writable } from 'node:stream';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../src/trace/input-error.ts';
import type { Observation } from '../../src/trace/observation.ts';
import { headerLine, observationLine, writeTrace } from '../../src/trace/writer.ts';
import { HEADER, traceOf } from './support.ts';

const plug = (at_ns: number): Observation => ({ kind: 'plug', at_ns, state: 'in' });

describe('lines', () => {
  test('have their fields in a fixed order, whatever the object had', () => {
    const message: Observation = {
      receiver: '02:00:00:00:00:02',
      link: 'tcp:1',
      protocol: 'din70121',
      frame: 7,
      recorder: 'bay 3',
      message: { EVReady: true },
      name: 'PreChargeReq',
      from: 'vehicle',
      kind: 'message',
      at_ns: 12_000_000_001,
    };
    expect(observationLine(message)).toBe(
      '{"at":12.000000001,"kind":"message","from":"vehicle","name":"PreChargeReq",' +
        '"message":{"EVReady":true},"frame":7,"protocol":"din70121","link":"tcp:1",' +
        '"receiver":"02:00:00:00:00:02","recorder":"bay 3"}',
    );
  });

  test('leave out what the header does not have', () => {
    expect(headerLine({ handfast: 'trace', version: 1, epoch: null })).toBe(HEADER);
  });

  test.each([4e15, -4e15, Number.NaN, Infinity])('%d ns is too far to be written', (at_ns) => {
    expect(() => observationLine(plug(at_ns))).toThrow(InputError);
  });

  test('no number is written as null', () => {
    const current: Observation = { kind: 'current', at_ns: 0, current_A: Number.NaN };
    expect(() => observationLine(current)).toThrow(new RangeError('current_A is NaN'));
  });
});

describe('a trace written to a stream', () => {
  test('arrives whole and in order, and waits while the stream is full', async () => {
    let pulled = 0;
    let written = 0;
    let ahead = 0;
    let text = '';
    const trace = traceOf(
      Array.from({ length: 200 }, (_, index) => plug(index)),
      { size: 1 },
    );
    async function* counted(): AsyncGenerator<Observation[]> {
      for await (const batch of trace.observations) {
        pulled += 1;
        yield batch;
      }
    }
    const slow = new Writable({
      highWaterMark: 64,
      write(chunk: Buffer, _encoding, done) {
        written += 1;
        ahead = Math.max(ahead, pulled - written);
        text += chunk.toString();
        setImmediate(done);
      },
    });
    await writeTrace({ header: trace.header, observations: counted() }, slow);
    const lines = Array.from({ length: 200 }, (_, index) => observationLine(plug(index)));
    expect(text).toBe(`${[HEADER, ...lines].join('\n')}\n`);
    expect(ahead).toBeLessThan(10);
  });

  test('that breaks, fails', async () => {
    const broken = new Writable({
      write(_chunk, _encoding, done) {
        done(new Error('no space'));
      },
    });
    await expect(writeTrace(traceOf([plug(1)], {}), broken)).rejects.toThrow('no space');
  });
});
