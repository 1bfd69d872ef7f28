import { actsOf, type Dialect } from '../system-c/dialect.ts';

/** DIN SPEC 70121:2014: ReadyToChargeState true or false starts and stops; a passed isolation test is `Safe`. */
export const din70121: Dialect = {
  protocol: 'din70121',
  title: 'DIN SPEC 70121',
  acts: actsOf({ ServicePaymentSelection: 'setup', ContractAuthentication: 'setup' }),
  powerDelivery: ({ ReadyToChargeState: ready }) =>
    ready === true ? 'power' : ready === false ? 'stop' : undefined,
  isolationGood: 'Safe',
};
