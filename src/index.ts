// What a program may import from handfast.
export type * from './trace/observation.ts';
export { InputError, type InputPlace } from './trace/input-error.ts';
export type * from './rules/result.ts';
