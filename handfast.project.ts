// handfast judged by itself: the bundled captures must replay as recorded, and the bundled machines must hold.
import { defineProject } from 'handfast';

export default defineProject({
  name: 'handfast',
  traces: [{ path: 'traces/field' }],
  machines: [
    { protocol: 'din70121', faults: 1 },
    { protocol: 'iso15118-2', faults: 1 },
    { protocol: 'din70121', vehicle: 'examples/saltmarsh/release-13.ts', faults: 1 },
  ],
  limits: { memory_MB: 1024, time_s: 240 },
});
