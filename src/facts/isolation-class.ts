import type { Figure } from './figures.ts';

const CLAUSE = 'IEC 61851-23, general part and Annex CC (System C)';

/** At or below it supply must not start, and must stop. */
const isolationFault_ohm_per_V: Figure = {
  name: 'highest isolation that counts as a fault',
  value: 100,
  unit: 'ohm/V',
  source: `${CLAUSE}; 100 ohm/V confirmed as the industry's minimum`,
  confidence: 'from memory',
};

/** At or below it and above the fault threshold, supply may go on and the warning is reported. */
const isolationWarning_ohm_per_V: Figure = {
  name: 'highest isolation that counts as a warning',
  value: 500,
  unit: 'ohm/V',
  source: CLAUSE,
  confidence: 'from memory',
};

/**
 * The class of a measured isolation resistance: both rails in parallel, as a monitor reports it, never the result of the
 * two-reading method. `ratedVoltage_V` is the charger's rated highest output voltage. What is no number is a fault.
 */
export function isolationClass(
  resistance_ohm: number,
  ratedVoltage_V: number,
): 'fault' | 'warning' | 'valid' {
  if (resistance_ohm > isolationWarning_ohm_per_V.value * ratedVoltage_V) return 'valid';
  if (resistance_ohm > isolationFault_ohm_per_V.value * ratedVoltage_V) return 'warning';
  return 'fault';
}
