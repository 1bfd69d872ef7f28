// Replay with the bundled machines; the only place that names them.
import { basename } from 'node:path';
import { constants, gunzipSync } from 'node:zlib';
import { charger as dinCharger } from '../../machines/din70121/charger.ts';
import { vehicle as dinVehicle } from '../../machines/din70121/vehicle.ts';
import { charger as isoCharger } from '../../machines/iso15118-2/charger.ts';
import { vehicle as isoVehicle } from '../../machines/iso15118-2/vehicle.ts';
import { replayTrace } from '../replay/replay.ts';
import type { MachineSet } from '../replay/session.ts';
import { mergeTraces } from '../trace/merge.ts';
import type { OpenTrace } from '../trace/observation.ts';
import type { Engine, ReplaySettings } from './engine.ts';
import { formOf, openFile } from './open-input.ts';

const machines: MachineSet = {
  din70121: { vehicle: dinVehicle, charger: dinCharger },
  'iso15118-2': { vehicle: isoVehicle, charger: isoCharger },
};

export const bundledEngine: Engine = {
  inWorkers: true,
  isInput,
  replay: async (path, settings, onSession) => {
    const trace = await merged(path, settings);
    const { strict, crashDeadline_ms } = settings;
    const options = { machines, strict, crashDeadline_ms };
    return replayTrace(trace, path, onSession === undefined ? options : { ...options, onSession });
  },
};

async function merged(path: string, settings: ReplaySettings): Promise<OpenTrace> {
  const main = await openFile(path);
  if (settings.with.length === 0) return main;
  const others = [];
  for (const { path: other, offset_ns } of settings.with) {
    others.push({ trace: await openFile(other), offset_ns, recorder: basename(other) });
  }
  return mergeTraces(main, others);
}

/**
 * What is taken from a folder: captures, packed or not, and traces. Any JSON may look like a trace and any packed file
 * like a capture, so both are looked into. Logs are no recording of a session by themselves: they come by --with.
 */
function isInput(firstBytes: Uint8Array): boolean {
  const form = formOf(firstBytes);
  if (form === 'trace') return Buffer.from(firstBytes).includes('"handfast"');
  return form === 'capture' && formOf(unpacked(firstBytes)) === 'capture';
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
