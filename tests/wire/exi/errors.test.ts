// What the codec says of streams and messages that are none. Known bytes: DIN SPEC 70121
// SessionSetupReq with empty SessionID and EVCCID as real devices send it, from memory; the other
// streams are worked out by hand from it.
import { describe, expect, test } from 'vitest';
import { InputError } from '../../../src/trace/input-error.ts';
import type { Json, JsonObject } from '../../../src/trace/observation.ts';
import { decodeExi, encodeExi } from '../../../src/wire/exi/codec.ts';
import type { ExiSchema } from '../../../src/wire/exi/codec.ts';
import { bytesOf, codecOf } from './bit-text.ts';

const EMPTY_SETUP = { Header: { SessionID: '' }, Body: { SessionSetupReq: { EVCCID: '' } } };

function errorOf(run: () => unknown): InputError {
  try {
    run();
  } catch (error) {
    if (error instanceof InputError) {
      return error;
    }
    throw error;
  }
  throw new Error('nothing was thrown');
}

const unreadable = (schema: ExiSchema, hex: string): InputError =>
  errorOf(() => decodeExi(schema, Buffer.from(hex, 'hex')));

describe('empty values', () => {
  test('no characters: as devices send it', () => {
    expect(decodeExi('din70121', Buffer.from('809a0011d00000', 'hex'))).toEqual(EMPTY_SETUP);
  });

  test('characters left out, the end by the escape: second level, 3 bits, 000', () => {
    const setup = '0 011101';
    const escaped = bytesOf(`10000000 1001101 0 0 1 000 10 ${setup} 0 1 000 0 0 0`);
    expect(decodeExi('din70121', escaped)).toEqual(EMPTY_SETUP);
  });

  test('the first of both is written', () => {
    expect(Buffer.from(encodeExi('din70121', EMPTY_SETUP)).toString('hex')).toBe('809a0011d00000');
  });

  test('of an element with attributes', () => {
    const { decoder, encoder } = codecOf('document r\nelement r\n v t\ntype t = string\n @Id ID ?');
    const escaped = bytesOf('10000000 0 0 10 000 0');
    expect(decoder.decode(escaped)).toEqual({ v: { $: '' } });
    const written = bytesOf('10000000 0 0 01 00000010 0 0');
    expect(encoder.encode({ v: { $: '' } })).toEqual(written);
    expect(decoder.decode(written)).toEqual({ v: { $: '' } });
  });

  test('of a number there is none', () => {
    const { decoder } = codecOf('document r\nelement r\n v short');
    const error = errorOf(() => decoder.decode(bytesOf('10000000 0 0 1 000 0 0')));
    expect(error.message).toContain('v leaves the schema where its value belongs');
  });
});

describe('streams that are none', () => {
  test.each<[string, ExiSchema, string, number, string]>([
    ['nothing', 'din70121', '', 0, 'ends too early'],
    ['an options document', 'din70121', 'a09a00', 0, 'a0 is no EXI header'],
    ['XML', 'din70121', '3c3f786d6c', 0, '3c is no EXI header'],
    ['cut short', 'din70121', '809a0011', 4, 'ends too early'],
    ['bytes after it', 'din70121', '809a0011d0000000ff', 8, 'after the end'],
    ['the other schema', 'iso15118-2', '809a0011d00000', 1, 'is no message of iso15118-2'],
    ['a message not modelled', 'din70121', '809a001180', 4, 'ServiceDetailRes cannot be read'],
    ['no element of the table', 'app-protocol', '80c0', 1, 'is no message of app-protocol'],
  ])('%s', (_, schema, hex, byte, told) => {
    const error = unreadable(schema, hex);
    expect(error.message).toContain(told);
    expect(error.place.byte).toBe(byte);
  });

  test('zero bytes after a message are passed over', () => {
    expect(decodeExi('din70121', Buffer.from('809a0011d000000000', 'hex'))).toEqual(EMPTY_SETUP);
  });

  test('unused codes of values and of states', () => {
    // ISO 15118-2 unitMultiplierType has 7 values in 3 bits.
    const { decoder } = codecOf('document r\nelement r\n v t\nint t byte -3 3');
    const value = errorOf(() => decoder.decode(bytesOf('10000000 0 0 0 111 0 0')));
    expect(value.message).toBe(
      'byte 1: v holds none of the 7 values of t (check that the message is of this schema and arrived whole)',
    );
    const state = errorOf(() => decoder.decode(bytesOf('10000000 0 1 000')));
    expect(state.message).toContain('code 1 where the schema has v');
  });

  test('integers that no number holds', () => {
    const { decoder } = codecOf('document r\nelement r\n v unsignedInt');
    const long = errorOf(() => decoder.decode(bytesOf(`10000000 0 0 0 ${'11111111 '.repeat(9)}`)));
    expect(long.message).toContain('a number beyond 2^53');
    const { decoder: big } = codecOf('document r\nelement r\n v integer');
    const huge = errorOf(() => big.decode(bytesOf(`10000000 0 0 0 0 ${'11111111 '.repeat(80)}`)));
    expect(huge.message).toContain('an integer of more than 74 octets');
  });

  test('a decoder goes on after an error', () => {
    unreadable('din70121', '809a0011');
    expect(decodeExi('din70121', Buffer.from('809a0011d00000', 'hex'))).toEqual(EMPTY_SETUP);
  });
});

const says = (message: JsonObject): string =>
  errorOf(() => encodeExi('iso15118-2', message)).message;

describe('messages that are none', () => {
  const Header = { SessionID: '0102030405060708' };
  const V = { Multiplier: 0, Unit: 'V', Value: 400 };
  const preCharge = {
    DC_EVStatus: { EVReady: true, EVErrorCode: 'NO_ERROR', EVRESSSOC: 50 },
    EVTargetVoltage: V,
    EVTargetCurrent: { ...V, Unit: 'A', Value: 1 },
  };
  const withField = (name: string, value: Json): JsonObject => ({
    Header,
    Body: { PreChargeReq: { ...preCharge, [name]: value } },
  });
  const { EVTargetCurrent, ...withoutCurrent } = preCharge;

  test('the one they are made of is one', () => {
    // 186 bits, counted by hand from the schema.
    expect(encodeExi('iso15118-2', withField('EVTargetCurrent', EVTargetCurrent))).toHaveLength(24);
  });

  test.each<[string, JsonObject, string]>([
    ['unknown message', { Header, Body: { Hello: {} } }, 'Body.Hello: unknown'],
    ['unknown field', withField('Hello', 1), 'Body.PreChargeReq.Hello: unknown'],
    [
      'two messages',
      { Header, Body: { SessionStopRes: { ResponseCode: 'OK' }, PreChargeReq: preCharge } },
      'exclude each other',
    ],
    ['no header', { Body: {} }, 'the message: Header is missing'],
    [
      'missing field',
      { Header, Body: { PreChargeReq: withoutCurrent } },
      'Body.PreChargeReq: EVTargetCurrent is missing (add it)',
    ],
    [
      'no object',
      withField('EVTargetVoltage', 400),
      'Body.PreChargeReq.EVTargetVoltage: no object',
    ],
    [
      'out of range',
      withField('EVTargetVoltage', { ...V, Value: 40_000 }),
      'EVTargetVoltage.Value: 40000 is outside short (from -32768 to 32767)',
    ],
    [
      'not whole',
      withField('EVTargetVoltage', { ...V, Value: 0.5 }),
      'EVTargetVoltage.Value: 0.5 is no integer',
    ],
    [
      'not listed',
      withField('EVTargetVoltage', { ...V, Unit: 'kV' }),
      'EVTargetVoltage.Unit: "kV" is no unitSymbolType (one of "h", "m", "s", "A", "V", "W", "Wh")',
    ],
    [
      'beyond a small range',
      withField('EVTargetVoltage', { ...V, Multiplier: 4 }),
      'Multiplier: 4 is no unitMultiplierType (a whole number from -3 to 3)',
    ],
    [
      'wrong type',
      withField('DC_EVStatus', { EVReady: 1, EVErrorCode: 'NO_ERROR', EVRESSSOC: 50 }),
      'DC_EVStatus.EVReady: 1 is no boolean',
    ],
    ['null', withField('EVTargetVoltage', null), 'EVTargetVoltage: no object'],
    [
      'hex too long',
      { Header: { SessionID: '010203040506070809' }, Body: {} },
      'Header.SessionID: 9 octets are outside sessionIDType',
    ],
    ['half an octet', { Header: { SessionID: '012' }, Body: {} }, '"012" is no hexBinary'],
    ['no hex', { Header: { SessionID: '0G' }, Body: {} }, '"0G" is no hexBinary'],
    ['abstract', { Header, Body: { BodyElement: {} } }, 'BodyElement: cannot be written'],
  ])('%s', (_, message, told) => {
    const error = errorOf(() => encodeExi('iso15118-2', message));
    expect(error.message).toContain(told);
    expect(error.mend).not.toBe('');
  });

  test('too many items, too few, no array', () => {
    const tuple = { SAScheduleTupleID: 1, PMaxSchedule: { PMaxScheduleEntry: [] } };
    const entry = { RelativeTimeInterval: { start: 0 }, PMax: { ...V, Unit: 'W' } };
    const full = { ...tuple, PMaxSchedule: { PMaxScheduleEntry: [entry] } };
    const discovery = (SAScheduleTuple: Json): JsonObject => ({
      Header,
      Body: {
        ChargeParameterDiscoveryRes: {
          ResponseCode: 'OK',
          EVSEProcessing: 'Ongoing',
          SAScheduleList: { SAScheduleTuple },
          AC_EVSEChargeParameter: {
            AC_EVSEStatus: { NotificationMaxDelay: 0, EVSENotification: 'None', RCD: false },
            EVSENominalVoltage: V,
            EVSEMaxCurrent: V,
          },
        },
      },
    });
    expect(encodeExi('iso15118-2', discovery([full, full, full])).length).toBeGreaterThan(30);
    const path = 'Body.ChargeParameterDiscoveryRes.SAScheduleList';
    expect(says(discovery([full, full, full, full]))).toBe(
      `${path}.SAScheduleTuple: 4 items (the schema allows 3 of them)`,
    );
    expect(says(discovery([full, tuple]))).toContain(
      `${path}.SAScheduleTuple[1].PMaxSchedule: PMaxScheduleEntry is missing`,
    );
    expect(says(discovery(full))).toContain(`${path}.SAScheduleTuple: no array`);
  });

  test('application-protocol messages have one known name', () => {
    const { message } = errorOf(() => encodeExi('app-protocol', { hello: {} }));
    expect(message).toBe(
      'no message of app-protocol (give one key of: supportedAppProtocolReq, supportedAppProtocolRes)',
    );
  });

  test('strings with half a surrogate pair', () => {
    const { encoder } = codecOf('document r\nelement r\n v string');
    expect(errorOf(() => encoder.encode({ v: 'a\ud800' })).message).toContain('half a character');
  });

  test('fields without a value count as absent', () => {
    const odd = { ...preCharge, Hello: undefined } as unknown as JsonObject;
    const bytes = encodeExi('iso15118-2', { Header, Body: { PreChargeReq: odd } });
    expect(bytes).toEqual(encodeExi('iso15118-2', { Header, Body: { PreChargeReq: preCharge } }));
  });

  test('what does not fit one stream', () => {
    const { encoder } = codecOf('document r\nelement r\n a hexBinary 0..100');
    const message = { a: Array.from({ length: 20 }, () => '00'.repeat(1 << 16)) };
    expect(errorOf(() => encoder.encode(message)).message).toContain('too long for one EXI stream');
  });
});
