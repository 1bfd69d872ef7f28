// EXI codec against JSON.parse and JSON.stringify of the same messages, in one run.
import { argv } from 'node:process';
import { pathToFileURL } from 'node:url';
import { Bench } from 'tinybench';
import type { ExiSchema } from '../../src/wire/exi/codec.ts';
import { decodeExi, encodeExi } from '../../src/wire/exi/codec.ts';
import { buildGrammar } from '../../src/wire/exi/grammar-builder.ts';
import { modelOf } from '../../src/wire/exi/schemas.ts';
import type { JsonObject } from '../../src/trace/observation.ts';

const volt = (Value: number): JsonObject => ({ Multiplier: -1, Unit: 'V', Value });
const ampere = (Value: number): JsonObject => ({ Multiplier: -1, Unit: 'A', Value });
const Header = { SessionID: '3D4F81A2B0C95E17' };

/** What the two sides of a 400 V session exchange every 100 ms. */
const PAIR: JsonObject[] = [
  {
    Header,
    Body: {
      CurrentDemandReq: {
        DC_EVStatus: { EVReady: true, EVErrorCode: 'NO_ERROR', EVRESSSOC: 42 },
        EVTargetCurrent: ampere(1200),
        EVMaximumVoltageLimit: volt(4100),
        EVMaximumCurrentLimit: ampere(2000),
        EVMaximumPowerLimit: { Multiplier: 1, Unit: 'W', Value: 5000 },
        BulkChargingComplete: false,
        ChargingComplete: false,
        RemainingTimeToFullSoC: { Multiplier: 0, Unit: 's', Value: 1980 },
        RemainingTimeToBulkSoC: { Multiplier: 0, Unit: 's', Value: 1260 },
        EVTargetVoltage: volt(3950),
      },
    },
  },
  {
    Header,
    Body: {
      CurrentDemandRes: {
        ResponseCode: 'OK',
        DC_EVSEStatus: {
          NotificationMaxDelay: 0,
          EVSENotification: 'None',
          EVSEIsolationStatus: 'Valid',
          EVSEStatusCode: 'EVSE_Ready',
        },
        EVSEPresentVoltage: volt(3948),
        EVSEPresentCurrent: ampere(1198),
        EVSECurrentLimitAchieved: false,
        EVSEVoltageLimitAchieved: false,
        EVSEPowerLimitAchieved: false,
        EVSEMaximumVoltageLimit: volt(9200),
        EVSEMaximumCurrentLimit: ampere(2000),
        EVSEMaximumPowerLimit: { Multiplier: 1, Unit: 'W', Value: 15000 },
        EVSEID: 'ZZ*000*E0001',
        SAScheduleTupleID: 1,
      },
    },
  },
];

const SCHEMA: ExiSchema = 'iso15118-2';

/** One line a comparison: both rates and their ratio. */
export async function run(): Promise<string[]> {
  const texts = PAIR.map((message) => JSON.stringify(message));
  const streams = PAIR.map((message) => encodeExi(SCHEMA, message));
  const bench = new Bench({ time: 1000, warmupTime: 300 });
  bench.add('decodeExi', () => streams.map((stream) => decodeExi(SCHEMA, stream)));
  bench.add('JSON.parse', () => texts.map((text) => JSON.parse(text) as unknown));
  bench.add('encodeExi', () => PAIR.map((message) => encodeExi(SCHEMA, message)));
  bench.add('JSON.stringify', () => PAIR.map((message) => JSON.stringify(message)));
  await bench.run();
  const rate = (name: string): number => {
    const result = bench.getTask(name)?.result;
    if (result?.state !== 'completed') {
      throw new Error(`${name} did not run to its end`);
    }
    return 1e9 / (result.latency.p50 * 1e6);
  };
  const line = (ours: string, peer: string, floor: number): string => {
    const ratio = rate(ours) / rate(peer);
    const rates = `${Math.round(rate(ours))} against ${Math.round(rate(peer))} pairs/s`;
    const times = `${ratio.toFixed(2)}x (floor ${floor}x)`;
    return `${ours} / ${peer}, CurrentDemand pair: ${rates}, ${times}`;
  };
  return [line('decodeExi', 'JSON.parse', 1), line('encodeExi', 'JSON.stringify', 0.5), build()];
}

/** The first message of a schema waits for its grammar. */
function build(): string {
  const started = performance.now();
  buildGrammar(SCHEMA, modelOf(SCHEMA));
  return `grammar of ${SCHEMA} built again in ${(performance.now() - started).toFixed(1)} ms`;
}

if (import.meta.url === pathToFileURL(argv[1] ?? '').href) {
  console.log((await run()).join('\n'));
}
