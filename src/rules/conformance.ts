// The two rules of class conformance: judged by the machines' state sets and by timers, not by facts.
import type { Rule } from './rule.ts';

const shared = {
  class: 'conformance',
  owners: ['vehicle', 'charger'],
  figures: [],
} satisfies Partial<Rule>;

export const conformanceRules: readonly Omit<Rule, 'judge' | 'tell' | 'followsFrom'>[] = [
  {
    ...shared,
    id: 'in-order',
    says: 'Each message is one the protocol allows at this point.',
    clause: 'DIN SPEC 70121, 9.7; ISO 15118-2, 8.8',
    needs: 'the messages of the session, from its start',
    witness: 'PreChargeReq follows ChargeParameterDiscoveryRes, with no CableCheckReq between.',
  },
  {
    ...shared,
    id: 'in-time',
    says: 'Each message comes within its time.',
    clause: 'DIN SPEC 70121, 9.6; ISO 15118-2, 8.7, Table 109',
    needs: 'the messages of the session with their times',
    witness: 'CableCheckReq is still repeated 41 s after the first.',
  },
];
