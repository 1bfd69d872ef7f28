/** The chunks of a source until the signal; what would still come is left unread. */
export async function* until(
  signal: AbortSignal,
  source: AsyncIterable<Uint8Array>,
): AsyncGenerator<Uint8Array, void, void> {
  const aborted = new Promise<{ done: true; value: undefined }>((resolve) => {
    const end = (): void => resolve({ done: true, value: undefined });
    if (signal.aborted) end();
    else signal.addEventListener('abort', end, { once: true });
  });
  const chunks = source[Symbol.asyncIterator]();
  try {
    for (;;) {
      const next = await Promise.race([aborted, chunks.next()]);
      if (next.done) return;
      yield next.value;
    }
  } finally {
    // Not awaited: a source that is waited for in vain would keep us waiting, too.
    if (signal.aborted) void chunks.return?.();
    else await chunks.return?.();
  }
}
