// Composing is the inverse of reading: what compose.ts writes, event.ts and reading.ts give back, and the EXI codec, which
// tests/wire/exi checks against vectors from elsewhere, carries unchanged.
import { assert, constantFrom, integer, property, record, type Arbitrary } from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Send, SideMachine } from '../../../src/machine/convention.ts';
import { compileTable } from '../../../src/machine/table.ts';
import { protocols } from '../../../src/protocols/index.ts';
import { compose, type Composed, type Numbers } from '../../../src/protocols/system-c/compose.ts';
import type { SystemCProtocol } from '../../../src/protocols/system-c/body-parts.ts';
import { createEventReader } from '../../../src/protocols/system-c/event.ts';
import { readMessage } from '../../../src/protocols/system-c/reading.ts';
import type { MessageObservation } from '../../../src/trace/observation.ts';
import { decodeExi, encodeExi } from '../../../src/wire/exi/codec.ts';
import { machines } from '../../support/machines.ts';

const PROTOCOLS: readonly SystemCProtocol[] = ['din70121', 'iso15118-2'];

function sendsOf(side: SideMachine): Send[] {
  return compileTable(side).outputs.flatMap(({ sends }) => sends);
}

function everySend(protocol: SystemCProtocol): Send[] {
  const { vehicle, charger } = machines[protocol]!;
  const all = [...sendsOf(vehicle), ...sendsOf(charger)];
  const distinct = new Map(all.map((send) => [JSON.stringify(send), send]));
  return [...distinct.values()];
}

function observed(composed: Composed): MessageObservation {
  const from = composed.name.endsWith('Req') ? 'vehicle' : 'charger';
  return { kind: 'message', at_ns: 0, from, ...composed };
}

/** The facts of a message after a SessionSetup that gave this session its id. */
function factsOf(composed: Composed): Record<string, string> {
  const read = createEventReader();
  if (composed.protocol !== 'app-protocol' && composed.name !== 'SessionSetupRes') {
    read(observed(compose(composed.protocol as SystemCProtocol, { message: 'SessionSetupRes' })));
  }
  return { ...read(observed(composed)) };
}

/** The two facts that have no words of their own, as compose.ts says. */
function worded(protocol: SystemCProtocol, { message, ...facts }: Send): Record<string, string> {
  const said: Record<string, string> = { type: message, ...facts };
  if (protocol === 'din70121' && said.isolation === 'no monitor') said.isolation = 'unknown';
  if (message === 'supportedAppProtocolRes' && said.code !== 'ok') said.code = 'failed';
  return said;
}

function expectCarried({ name, message, protocol, header }: Composed): void {
  const framed =
    header === undefined ? { [name]: message } : { Header: header, Body: { [name]: message } };
  const schema = protocol as SystemCProtocol | 'app-protocol';
  expect(decodeExi(schema, encodeExi(schema, framed))).toEqual(framed);
}

/** Tenths of volts and amperes as a message can hold them exactly. */
const tenths = (most: number): Arbitrary<number> =>
  integer({ min: 0, max: most * 10 }).map((value) => value / 10);

const numbers: Arbitrary<Partial<Numbers>> = record({
  stateOfCharge_percent: integer({ min: 0, max: 100 }),
  targetVoltage_V: tenths(1000),
  targetCurrent_A: tenths(500),
  presentVoltage_V: tenths(1000),
  presentCurrent_A: tenths(500),
  vehicleLimits: record({ voltage_V: tenths(1000), current_A: tenths(500) }),
  chargerLimits: record({
    voltage_V: tenths(1000),
    current_A: tenths(500),
    power_W: integer({ min: 0, max: 350 }).map((value) => value * 1000),
  }),
  noticeDelay_s: integer({ min: 0, max: 65_535 }),
  meter_Wh: integer({ min: 0, max: 1_000_000 }),
});

describe.each(PROTOCOLS)('every message a side of %s may send', (protocol) => {
  const sends = everySend(protocol);
  const names = new Set(sends.map(({ message }) => message));

  it('is known here', () => {
    const expected = protocol === 'din70121' ? 24 : 34;
    expect(names.size).toBe(expected);
  });

  it('is read back with the facts it was composed of', () => {
    assert(
      property(constantFrom(...sends), numbers, (send, given) => {
        expect(factsOf(compose(protocol, send, given))).toMatchObject(worded(protocol, send));
      }),
      { numRuns: 2000, seed: 1 },
    );
    for (const send of sends) {
      expect(factsOf(compose(protocol, send))).toMatchObject(worded(protocol, send));
    }
  });

  it('is encoded and decoded to itself', () => {
    for (const send of sends) expectCarried(compose(protocol, send));
    assert(
      property(constantFrom(...sends), numbers, (send, given) => {
        expectCarried(compose(protocol, send, given));
      }),
      { numRuns: 500, seed: 2 },
    );
  });

  it('carries the numbers it was given', () => {
    const { dialect } = protocols[protocol];
    const read = (message: string, facts: object, given: Partial<Numbers>) =>
      readMessage(observed(compose(protocol, { message, ...facts }, given)), dialect);
    assert(
      property(numbers, (given) => {
        expect(read('PreChargeReq', {}, given)).toMatchObject({
          targetVoltage_V: given.targetVoltage_V,
          targetCurrent_A: given.targetCurrent_A,
          stateOfCharge_percent: given.stateOfCharge_percent,
        });
        expect(read('CurrentDemandRes', {}, given)).toMatchObject({
          presentVoltage_V: given.presentVoltage_V,
          presentCurrent_A: given.presentCurrent_A,
        });
        expect(read('ChargeParameterDiscoveryReq', {}, given).limits).toEqual(given.vehicleLimits);
        expect(read('ChargeParameterDiscoveryRes', {}, given).limits).toEqual(given.chargerLimits);
      }),
      { numRuns: 200, seed: 3 },
    );
  });
});

describe('what a protocol has no words for', () => {
  it('is refused', () => {
    const pause = { message: 'SessionStopReq', ending: 'pause' };
    expect(() => compose('din70121', pause)).toThrow('no words for SessionStopReq pause');
    const unheard = { message: 'CableCheckRes', status: 'unheard of' };
    expect(() => compose('iso15118-2', unheard)).toThrow('no words for unheard of');
    expect(() => compose('iso15118-2', { message: 'HelloReq' })).toThrow('no words for HelloReq');
  });

  it('or stays at the greatest number there is', () => {
    const far = compose('din70121', { message: 'PreChargeReq' }, { targetVoltage_V: 1e12 });
    expect(far.message.EVTargetVoltage).toEqual({ Multiplier: 3, Unit: 'V', Value: 32_767 });
    expectCarried(far);
  });

  it('facts go before numbers', () => {
    const none = { message: 'CurrentDemandReq', demand: 'none' };
    const some = { message: 'CurrentDemandReq', demand: 'some' };
    expect(factsOf(compose('din70121', none, { targetCurrent_A: 90 })).demand).toBe('none');
    expect(factsOf(compose('din70121', some, { targetCurrent_A: 0 })).demand).toBe('some');
  });
});
