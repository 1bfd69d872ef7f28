// What a command may touch of the world outside it; tests hand in their own.

export interface Output {
  /** Resolves when more may be written; rejects never. */
  write(text: string): Promise<void>;
  readonly isTTY: boolean;
  readonly columns: number | undefined;
  /** The reader went away (a closed pipe): writing goes on without effect. */
  readonly closed: boolean;
  /** The terminal itself, for what redraws. */
  readonly stream?: NodeJS.WritableStream;
}

export interface Io {
  stdin: AsyncIterable<Uint8Array>;
  stdout: Output;
  stderr: Output;
  env: Record<string, string | undefined>;
  /** Cores that may be used by default. */
  cores: number;
  /** Aborted by the first Ctrl-C. */
  interrupted: AbortSignal;
}

/** Options every command takes. */
export interface CommonOptions {
  json?: boolean;
  /** False after --no-color. */
  color: boolean;
  width?: number;
  quiet?: boolean;
  debug?: boolean;
}

/**
 * Whether a stream gets colour: --no-color, then FORCE_COLOR, then NO_COLOR, TERM=dumb and the stream itself
 * (no-color.org; FORCE_COLOR beats NO_COLOR as in Node).
 */
export function wantsColor(output: Output, options: CommonOptions, env: Io['env']): boolean {
  if (!options.color) return false;
  if (env.FORCE_COLOR !== undefined) return env.FORCE_COLOR !== '0' && env.FORCE_COLOR !== 'false';
  if (env.NO_COLOR) return false;
  return output.isTTY && env.TERM !== 'dumb';
}

export function widthOf(output: Output, options: CommonOptions): number {
  return options.width ?? output.columns ?? 80;
}

/** A line for a person who watches; nothing when nobody does. */
export async function remark(io: Io, options: CommonOptions, text: string): Promise<void> {
  if (io.stderr.isTTY && !options.quiet) await io.stderr.write(`${text}\n`);
}
