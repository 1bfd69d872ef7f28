// The closing test before it was proved: it closes whatever the voltages are.
import { drive, send } from 'handfast';
import { closingTest } from './closing-test.ts';

export const vehicle = closingTest({
  target: 'closed',
  actions: [
    drive('contactors', 'closed'),
    send({
      message: 'PowerDeliveryReq',
      session: 'this',
      ready: 'yes',
      error: 'none',
      progress: 'start',
    }),
  ],
});
