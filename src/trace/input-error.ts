/** Where in the input something is wrong. */
export interface InputPlace {
  file?: string;
  line?: number;
  /** 1-based packet number. */
  frame?: number;
  /** 0-based offset. */
  byte?: number;
}

/**
 * Input that cannot be used, told so that its owner can mend it: what is wrong, where, and what to do.
 * The command line prints `message` alone, never a stack trace.
 */
export class InputError extends Error {
  readonly what: string;
  readonly place: InputPlace;
  readonly mend: string;

  constructor(what: string, place: InputPlace, mend: string) {
    super(tell(what, place, mend));
    this.name = 'InputError';
    this.what = what;
    this.place = place;
    this.mend = mend;
  }

  /** The same error with more of its place known. */
  at(place: InputPlace): InputError {
    return new InputError(this.what, { ...place, ...this.place }, this.mend);
  }
}

function tell(what: string, place: InputPlace, mend: string): string {
  const where = [
    place.file,
    place.line === undefined ? undefined : `line ${place.line}`,
    place.frame === undefined ? undefined : `frame ${place.frame}`,
    place.byte === undefined ? undefined : `byte ${place.byte}`,
  ].filter((part) => part !== undefined);
  const head = where.length > 0 ? `${where.join(', ')}: ` : '';
  return `${head}${what}${mend ? ` (${mend})` : ''}`;
}
