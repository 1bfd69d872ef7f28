import { isolationFault_ohm_per_V, isolationWarning_ohm_per_V } from './figures.ts';

export type IsolationClass = 'fault' | 'warning' | 'valid';

/**
 * The class of a measured isolation resistance: both rails in parallel, as a monitor reports it, never the result of the
 * two-reading method. `ratedVoltage_V` is the charger's rated highest output voltage. What is no number is a fault.
 */
export function isolationClass(resistance_ohm: number, ratedVoltage_V: number): IsolationClass {
  if (resistance_ohm > isolationWarning_ohm_per_V.value * ratedVoltage_V) return 'valid';
  if (resistance_ohm > isolationFault_ohm_per_V.value * ratedVoltage_V) return 'warning';
  return 'fault';
}
