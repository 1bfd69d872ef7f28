// Failures of a command that are no verdict.

/** The command line is wrong: told in one line, exit code 2. */
export class UsageError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'UsageError';
  }
}

/** What a command was told to work with is wrong: told in one line, exit code 2. */
export class ConfigurationError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'ConfigurationError';
  }
}

/** One line about a fault of handfast itself; the stack only when asked for. */
export function faultLine(error: unknown, where: string, debug: boolean): string {
  const message = error instanceof Error ? error.message : String(error);
  const head = `handfast: internal fault${where ? ` in ${where}` : ''}: ${message}`;
  if (!debug) return `${head} (--debug shows where)`;
  return error instanceof Error && error.stack ? `${head}\n${error.stack}` : head;
}

/** Whether an error is one of the file system's, such as a missing file. */
export function isSystemError(error: unknown): error is NodeJS.ErrnoException {
  return error instanceof Error && 'syscall' in error && 'code' in error;
}

const SYSTEM: Record<string, string> = {
  ENOENT: 'no such file or folder',
  EACCES: 'may not be read (permission denied)',
  EPERM: 'may not be read (permission denied)',
  EISDIR: 'is a folder where a file was expected',
  ENOTDIR: 'a part of the path is no folder',
  ELOOP: 'its symbolic links run in a circle',
  ENAMETOOLONG: 'the name is too long',
};

export function systemReason(error: NodeJS.ErrnoException): string {
  return SYSTEM[error.code ?? ''] ?? error.message;
}
