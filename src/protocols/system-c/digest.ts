// One line for a message: the fields that decide, in words.
import type { Reading } from '../../facts/reading.ts';

/** `asks 180 A at up to 400 V · 45 %`: enough to follow a session without its bytes. */
export function digest(reading: Reading): string {
  return (reading.request === true ? requestParts(reading) : responseParts(reading))
    .filter((part) => part !== undefined)
    .join(' · ');
}

function requestParts(reading: Reading): (string | undefined)[] {
  const { act, targetCurrent_A, targetVoltage_V, ready, error, stateOfCharge_percent } = reading;
  const asks = targetCurrent_A === undefined ? undefined : `asks ${tidy(targetCurrent_A)} A`;
  const at = targetVoltage_V === undefined ? undefined : `at ${tidy(targetVoltage_V)} V`;
  return [
    reading.session === 'foreign' ? `session ${reading.sessionId} (another)` : undefined,
    actWords(reading),
    asks !== undefined && at !== undefined ? `${asks} ${at}` : (asks ?? at),
    typeof error === 'string' ? error : undefined,
    ready === false ? 'EVReady false' : undefined,
    reading.complete === true ? 'ChargingComplete' : undefined,
    limitWords(reading),
    stateOfCharge_percent === undefined || act === 'stop'
      ? undefined
      : `${stateOfCharge_percent} %`,
  ];
}

function actWords({ name, act }: Reading): string | undefined {
  if (!name.startsWith('PowerDelivery')) return undefined;
  return act === 'power' ? 'start' : act === 'stop' ? 'stop' : act;
}

function responseParts(reading: Reading): (string | undefined)[] {
  const { code, processing, isolationStatus, statusCode, notice } = reading;
  const { presentVoltage_V, presentCurrent_A } = reading;
  return [
    reading.session === 'foreign' ? `session ${reading.sessionId} (another)` : undefined,
    code,
    processing === undefined ? undefined : processing === 'finished' ? 'Finished' : 'Ongoing',
    presentVoltage_V === undefined ? undefined : `${tidy(presentVoltage_V)} V`,
    presentCurrent_A === undefined ? undefined : `${tidy(presentCurrent_A)} A`,
    statusCode === 'EVSE_Ready' ? undefined : statusCode,
    isolationStatus === undefined ? undefined : `isolation ${isolationStatus}`,
    notice === undefined || notice.kind === 'none' ? undefined : noticeWords(notice),
    limitWords(reading),
  ];
}

function noticeWords({ kind, delay_s }: NonNullable<Reading['notice']>): string {
  const what = kind === 'stop' ? 'StopCharging' : 'ReNegotiation';
  return `${what}, ${delay_s === 0 ? 'at once' : `within ${delay_s} s`}`;
}

function limitWords({ limits, name }: Reading): string | undefined {
  if (limits === undefined || !name.startsWith('ChargeParameter')) return undefined;
  const parts = [
    limits.voltage_V === undefined ? undefined : `${tidy(limits.voltage_V)} V`,
    limits.current_A === undefined ? undefined : `${tidy(limits.current_A)} A`,
    limits.power_W === undefined ? undefined : `${tidy(limits.power_W / 1000)} kW`,
  ];
  return `limits ${parts.filter((part) => part !== undefined).join(', ')}`;
}

const tidy = (value: number): string => String(Number(value.toFixed(2)));
