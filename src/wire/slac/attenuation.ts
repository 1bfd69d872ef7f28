// The attenuation arithmetic of matching (ISO 15118-3:2015 Annex A): means over sounds and over groups,
// and the class a vehicle makes of them.

/** Average attenuation up to which a charger counts as found; dB, C_EV_match_signalattn_direct, `from memory`. */
const DIRECT_ATTENUATION_DB = 10;
/** Up to which it may be the one, validation advised; dB, C_EV_match_signalattn_indirect, `from memory`. */
const INDIRECT_ATTENUATION_DB = 20;

export type AttenuationClass = 'found' | 'potentially found' | 'not found';

/**
 * Mean of each carrier group over the sounds received, in dB. `profiles` holds one list of attenuations a
 * sound, all of the same length.
 * @throws RangeError when there is no sound or the lists differ in length.
 */
export function groupAverages_dB(profiles: readonly (readonly number[])[]): number[] {
  const [first] = profiles;
  if (first === undefined) throw new RangeError('no sounds: there is nothing to average');
  if (profiles.some((profile) => profile.length !== first.length)) {
    throw new RangeError('the sounds differ in their number of carrier groups');
  }
  return first.map((_, group) => mean(profiles.map((profile) => profile[group]!)));
}

/** Mean over the carrier groups, in dB: what a vehicle compares chargers by. */
export function averageAttenuation_dB(groups: readonly number[]): number {
  if (groups.length === 0) throw new RangeError('no carrier groups: there is nothing to average');
  return mean(groups);
}

/** What a vehicle makes of a charger's average attenuation. */
export function attenuationClass(average_dB: number): AttenuationClass {
  if (average_dB <= DIRECT_ATTENUATION_DB) return 'found';
  return average_dB <= INDIRECT_ATTENUATION_DB ? 'potentially found' : 'not found';
}

function mean(values: readonly number[]): number {
  let sum = 0;
  for (const value of values) sum += value;
  return sum / values.length;
}
