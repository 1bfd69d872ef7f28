// Pre-charge of a vehicle as somebody without XState would write it; invented for the tests.
import type { MachineFile } from '../../../src/machine/table-format.ts';

export function handMade(): MachineFile {
  return {
    handfast: 'machine',
    version: 1,
    name: 'hand made',
    side: 'vehicle',
    protocol: 'din70121',
    events: {
      'choose.next': {},
      PreChargeRes: { code: ['ok', 'failed', 'unknown'] },
      'link.closed': {},
    },
    delays: {
      answer: { ms: 2000, confidence: 'from memory', source: 'DIN SPEC 70121 9.6' },
      'pre-charge': { ms: 7000 },
    },
    initial: { state: 'begins', outputs: [{ drive: 'pilot', to: 'C' }] },
    states: {
      begins: {
        stage: 'pre-charge',
        on: {
          'choose.next': [
            {
              to: 'waits/PreChargeRes',
              outputs: [{ send: 'PreChargeReq', facts: { session: 'this' } }],
            },
          ],
        },
      },
      decides: {
        stage: 'pre-charge',
        on: {
          'choose.next': [
            {
              to: 'waits/PreChargeRes',
              outputs: [{ send: 'PreChargeReq', facts: { session: 'this' } }],
              keeps: ['pre-charge'],
            },
          ],
        },
        after: { 'pre-charge': { to: 'over' } },
      },
      'waits/PreChargeRes': {
        stage: 'pre-charge',
        says: 'waits for PreChargeRes',
        on: {
          PreChargeRes: [
            { when: { code: ['ok'] }, to: 'decides', keeps: ['pre-charge'] },
            { to: 'over', outputs: [{ drive: 'pilot', to: 'B' }] },
          ],
          'link.closed': [{ to: 'over' }],
        },
        after: { answer: { to: 'over' }, 'pre-charge': { to: 'over' } },
      },
      over: { stage: 'shutdown' },
    },
  };
}
