// Replay with the bundled machines; the only place that names them.
import { constants, gunzipSync } from 'node:zlib';
import { openFile } from '../replay/open.ts';
import { replayTrace } from '../replay/replay.ts';
import type { TimelineRecorder } from '../report/timeline/record.ts';
import type { SidePair } from '../replay/conformance.ts';
import type { SessionProtocol } from '../protocols/index.ts';
import { isTrace } from '../trace/reader.ts';
import { isCapture } from '../wire/open.ts';
import type { Engine } from './engine.ts';

/** Building a protocol's machines takes longer than replaying a file: only those that are spoken are built. */
export async function machinesOf(protocol: SessionProtocol): Promise<SidePair> {
  const [{ vehicle }, { charger }] =
    protocol === 'din70121'
      ? await Promise.all([
          import('../../machines/din70121/vehicle.ts'),
          import('../../machines/din70121/charger.ts'),
        ])
      : await Promise.all([
          import('../../machines/iso15118-2/vehicle.ts'),
          import('../../machines/iso15118-2/charger.ts'),
        ]);
  return { vehicle, charger };
}

export const bundledEngine: Engine = {
  inWorkers: true,
  isInput,
  replay: async (path, settings, onSession) => {
    const trace = await openFile(path, settings.with);
    const recorder = settings.timelines ? await timelineRecorder() : null;
    return replayTrace(trace, path, {
      machines: machinesOf,
      strict: settings.strict,
      crashDeadline_ms: settings.crashDeadline_ms,
      ...(recorder === null ? {} : { watcher: recorder }),
      onSession: (session) =>
        onSession(session, trace.header.epoch, recorder?.take(session) ?? null),
    });
  },
};

/** Loaded only for a report. */
async function timelineRecorder(): Promise<TimelineRecorder> {
  const { TimelineRecorder: Recorder } = await import('../report/timeline/record.ts');
  return new Recorder();
}

/**
 * What is taken from a folder: captures, packed or not, and traces. Any JSON may look like a trace and any packed
 * file like a capture, so both are looked into.
 */
function isInput(firstBytes: Uint8Array): boolean {
  if (isTrace(firstBytes))
    return /"handfast"\s*:\s*"trace"/.test(Buffer.from(firstBytes).toString());
  return isCapture(firstBytes) && isCapture(unpacked(firstBytes));
}

/** The beginning of what a gzip file holds; other bytes as they are. */
function unpacked(firstBytes: Uint8Array): Uint8Array {
  if (firstBytes[0] !== 0x1f || firstBytes[1] !== 0x8b) return firstBytes;
  try {
    // A beginning is not a whole stream: take what can be unpacked of it.
    return gunzipSync(firstBytes, { finishFlush: constants.Z_SYNC_FLUSH });
  } catch {
    return new Uint8Array();
  }
}
