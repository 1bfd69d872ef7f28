// Where DIN SPEC 70121 and ISO 15118-2 spell the same thing differently. Everything else of System C is shared.
import type { JsonObject } from '../../trace/observation.ts';
import type { Act } from '../../facts/vocabulary.ts';

export interface Dialect {
  protocol: 'din70121' | 'iso15118-2';
  title: string;
  /** What a request asks for, by its message name without `Req`; PowerDelivery is read by `powerDelivery`. */
  acts: Readonly<Record<string, Act>>;
  /** What a PowerDeliveryReq asks for; undefined when the field is missing. */
  powerDelivery(message: JsonObject): Act | undefined;
  /** The isolation value that means a passed test. */
  isolationGood: 'Safe' | 'Valid';
}

const shared: Record<string, Act> = {
  SessionSetup: 'setup',
  ServiceDiscovery: 'setup',
  ServiceDetail: 'setup',
  ChargeParameterDiscovery: 'setup',
  CableCheck: 'test',
  PreCharge: 'approach',
  CurrentDemand: 'demand',
  WeldingDetection: 'weld check',
  SessionStop: 'end',
};

export function actsOf(own: Record<string, Act>): Readonly<Record<string, Act>> {
  return Object.freeze({ ...shared, ...own });
}
