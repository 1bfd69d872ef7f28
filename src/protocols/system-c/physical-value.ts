import type { Json, JsonObject } from '../../trace/observation.ts';

/** A JSON value as an object, or an empty one: fields of a damaged trace may be anything. */
export function fields(value: Json | undefined): JsonObject {
  return value !== null && typeof value === 'object' && !Array.isArray(value) ? value : {};
}

/**
 * A PhysicalValueType as a number: Value × 10^Multiplier (Multiplier −3…+3, Value signed 16 bit), or undefined when
 * it is missing, malformed, or in another unit. DIN SPEC 70121 may leave the unit out.
 */
export function quantity(value: Json | undefined, unit: 'V' | 'A' | 'W'): number | undefined {
  const { Multiplier: multiplier, Unit: given, Value: mantissa } = fields(value);
  if (typeof mantissa !== 'number' || typeof multiplier !== 'number') return undefined;
  if (given !== undefined && given !== unit) return undefined;
  // Beyond the schema's ranges it is no measurement, and no arithmetic is done with it.
  if (!(Math.abs(multiplier) <= 3 && mantissa >= -32_768 && mantissa <= 32_767)) return undefined;
  return multiplier < 0 ? mantissa / 10 ** -multiplier : mantissa * 10 ** multiplier;
}
