// The frame of a stream, and caps on everything the bytes or a message may make long. None of them
// is a limit of the standards: real messages stay below 10 KB, strings below 100 characters,
// nesting below 12 (project defaults).

/**
 * First byte of a stream: distinguishing bits 10, no options, version 1 (W3C EXI 1.0, section 5).
 */
export const HEADER = 0x80;

/** Bytes of one EXI stream, read or written. */
export const STREAM_BYTES_MAX = 1 << 20;
/**
 * Characters of one string value; a string may be repeated by reference, so output can outgrow the
 * input.
 */
export const STRING_CHARACTERS_MAX = 4096;
/** Octets of one binary value. */
export const BINARY_OCTETS_MAX = 1 << 16;
/** Items of one repeating element, where the schema says `unbounded`. */
export const REPEATS_MAX = 4096;
/** Nesting of elements. */
export const DEPTH_MAX = 32;
/** Seven-bit groups of an integer kept as a number: 8 groups reach beyond 2^53. */
export const NUMBER_GROUPS_MAX = 8;
/**
 * Seven-bit groups of an integer kept as a decimal string: 512 bits, thrice a certificate's serial
 * number.
 */
export const BIG_GROUPS_MAX = 74;
