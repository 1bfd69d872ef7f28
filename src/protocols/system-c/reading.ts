// A V2G message of System C → a reading. Fields are read as the standards name them; what is absent stays absent.
import type { Limits, Reading } from '../../facts/reading.ts';
import type { Json, JsonObject, MessageObservation } from '../../trace/observation.ts';
import type { Dialect } from './dialect.ts';
import { fields, quantity } from './physical-value.ts';

const statusWords: Record<string, Reading['status']> = {
  EVSE_Ready: 'ready',
  EVSE_NotReady: 'not ready',
  EVSE_Shutdown: 'shutdown',
  EVSE_EmergencyShutdown: 'emergency',
  EVSE_Malfunction: 'malfunction',
  EVSE_IsolationMonitoringActive: 'testing',
};

/** Reads one message of DIN SPEC 70121, ISO 15118-2 or the handshake before them. Units are in the field names. */
export function readMessage(observation: MessageObservation, dialect: Dialect): Reading {
  const { name, message, at_ns, from } = observation;
  const reading: Reading = {
    at_ns,
    frame: observation.frame ?? null,
    from,
    name,
    evidence: 'reported',
  };
  const sessionId = observation.header?.SessionID;
  // Bytes in hexadecimal: a trace written elsewhere may spell them in lower case.
  if (typeof sessionId === 'string') reading.sessionId = sessionId.toUpperCase();
  const request = name.endsWith('Req');
  if (!request && !name.endsWith('Res')) return reading;
  reading.request = request;
  const act = readAct(name, message, dialect);
  if (act !== undefined) reading.act = act;
  if (request) readRequest(reading, message);
  else readResponse(reading, message, dialect);
  return reading;
}

function readAct(name: string, message: JsonObject, dialect: Dialect): Reading['act'] | undefined {
  const step = name.slice(0, -3);
  if (step !== 'PowerDelivery') return dialect.acts[step];
  return name.endsWith('Req') ? dialect.powerDelivery(message) : undefined;
}

function readRequest(reading: Reading, message: JsonObject): void {
  const parameters = fields(message.DC_EVChargeParameter);
  const status = fields(
    message.DC_EVStatus ??
      parameters.DC_EVStatus ??
      fields(message.DC_EVPowerDeliveryParameter).DC_EVStatus,
  );
  if (typeof status.EVReady === 'boolean') reading.ready = status.EVReady;
  const error = status.EVErrorCode;
  if (typeof error === 'string' && error !== 'NoData') {
    reading.error = error === 'NO_ERROR' ? null : error;
  }
  if (typeof status.EVRESSSOC === 'number') reading.stateOfCharge_percent = status.EVRESSSOC;
  if (reading.name === 'CurrentDemandReq' && typeof message.ChargingComplete === 'boolean') {
    reading.complete = message.ChargingComplete;
  }
  assign(reading, 'targetVoltage_V', quantity(message.EVTargetVoltage, 'V'));
  assign(reading, 'targetCurrent_A', quantity(message.EVTargetCurrent, 'A'));
  readLimits(reading, 'EV', message, parameters);
}

function readResponse(reading: Reading, message: JsonObject, dialect: Dialect): void {
  const code = message.ResponseCode;
  if (typeof code === 'string') {
    reading.code = code;
    reading.ok = code.startsWith('OK');
  }
  const processing = message.EVSEProcessing;
  if (typeof processing === 'string') {
    reading.processing = processing === 'Finished' ? 'finished' : 'ongoing';
  }
  const parameters = fields(message.DC_EVSEChargeParameter);
  readStatus(reading, fields(message.DC_EVSEStatus ?? parameters.DC_EVSEStatus), dialect);
  assign(reading, 'presentVoltage_V', quantity(message.EVSEPresentVoltage, 'V'));
  assign(reading, 'presentCurrent_A', quantity(message.EVSEPresentCurrent, 'A'));
  readLimits(reading, 'EVSE', message, parameters);
}

function readStatus(reading: Reading, status: JsonObject, dialect: Dialect): void {
  const code = status.EVSEStatusCode;
  if (typeof code === 'string') {
    reading.statusCode = code;
    reading.status = statusWords[code] ?? 'other';
  }
  const isolation = status.EVSEIsolationStatus;
  if (typeof isolation === 'string') {
    reading.isolationStatus =
      isolation === dialect.isolationGood
        ? 'valid'
        : isolation === 'Warning'
          ? 'warning'
          : isolation === 'Fault'
            ? 'fault'
            : isolation === 'Invalid'
              ? 'invalid'
              : 'none';
  }
  const notice = status.EVSENotification;
  if (typeof notice === 'string') {
    reading.notice = {
      kind: notice === 'StopCharging' ? 'stop' : notice === 'None' ? 'none' : 'renegotiate',
      delay_s: readDelay_s(status.NotificationMaxDelay),
    };
  }
}

/** NotificationMaxDelay is an unsigned short of seconds; anything else asks to stop at once. */
function readDelay_s(delay: Json | undefined): number {
  const known = typeof delay === 'number' && delay >= 0 && delay <= 65_535;
  return known ? delay : 0;
}

const limitFields = {
  EV: {
    voltage: 'EVMaximumVoltageLimit',
    current: 'EVMaximumCurrentLimit',
    power: 'EVMaximumPowerLimit',
  },
  EVSE: {
    voltage: 'EVSEMaximumVoltageLimit',
    current: 'EVSEMaximumCurrentLimit',
    power: 'EVSEMaximumPowerLimit',
  },
} as const;

function readLimits(
  reading: Reading,
  side: 'EV' | 'EVSE',
  message: JsonObject,
  parameters: JsonObject,
): void {
  const { voltage, current, power } = limitFields[side];
  const voltage_V = quantity(message[voltage] ?? parameters[voltage], 'V');
  const current_A = quantity(message[current] ?? parameters[current], 'A');
  const power_W = quantity(message[power] ?? parameters[power], 'W');
  if (voltage_V === undefined && current_A === undefined && power_W === undefined) return;
  const limits: Limits = {};
  assign(limits, 'voltage_V', voltage_V);
  assign(limits, 'current_A', current_A);
  assign(limits, 'power_W', power_W);
  reading.limits = limits;
}

function assign<K extends string>(
  target: { [key in K]?: number },
  key: K,
  value: number | undefined,
): void {
  if (value !== undefined) target[key] = value;
}
