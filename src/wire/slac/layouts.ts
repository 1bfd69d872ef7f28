// The HomePlug Green PHY management messages of SLAC matching and the layout of each body.
// ISO 15118-3:2015 Annex A and the HomePlug Green PHY specification; codes and offsets `from memory`,
// their sums checked (62 = 0x3E, 86 = 0x56). The base rule: REQ, CNF = REQ + 1, IND = REQ + 2, RSP = REQ + 3.
import type { Side } from '../../trace/observation.ts';

/** `profile` is a list of attenuations in dB, as long as NumGroups says; `nibbles` runs to the body's end. */
type FieldKind =
  'number' | 'little-endian' | 'mac' | 'hex' | 'profile' | 'ciphers' | 'nibbles' | 'withheld';

export type Field = readonly [name: string, size: number, kind: FieldKind];

export interface Layout {
  name: string;
  /** Null for messages between a host and its own modem, or ones that either side sends. */
  from: Side | null;
  fields: readonly Field[];
}

const TYPES: readonly Field[] = [
  ['APPLICATION_TYPE', 1, 'number'],
  ['SECURITY_TYPE', 1, 'number'],
];

const RUN_ID: Field = ['RunID', 8, 'hex'];

const SOUNDING: readonly Field[] = [
  ['NUM_SOUNDS', 1, 'number'],
  ['TIME_OUT', 1, 'number'],
  ['RESP_TYPE', 1, 'number'],
  ['FORWARDING_STA', 6, 'mac'],
];

const RESULT_ADDRESSES: readonly Field[] = [
  ...TYPES,
  ['SOURCE_ADDRESS', 6, 'mac'],
  RUN_ID,
  ['SOURCE_ID', 17, 'hex'],
  ['RESP_ID', 17, 'hex'],
];

const PROFILE: readonly Field[] = [
  ['NumGroups', 1, 'number'],
  ['AAG', 0, 'profile'],
];

const MATCH: readonly Field[] = [
  ...TYPES,
  ['MVFLength', 2, 'little-endian'],
  ['EV_ID', 17, 'hex'],
  ['EV_MAC', 6, 'mac'],
  ['EVSE_ID', 17, 'hex'],
  ['EVSE_MAC', 6, 'mac'],
  RUN_ID,
  ['RSVD', 8, 'hex'],
];

const KEY_EXCHANGE: readonly Field[] = [
  ['MyNonce', 4, 'hex'],
  ['YourNonce', 4, 'hex'],
  ['PID', 1, 'number'],
  ['PRN', 2, 'little-endian'],
  ['PMN', 1, 'number'],
  ['CCoCapability', 1, 'number'],
];

/** By MMTYPE. The network key, and the network identifier that is made from it, are withheld. */
export const LAYOUTS: ReadonlyMap<number, Layout> = new Map<number, Layout>([
  [
    0x6064,
    {
      name: 'CM_SLAC_PARM.REQ',
      from: 'vehicle',
      fields: [...TYPES, RUN_ID, ['CipherSuites', 0, 'ciphers']],
    },
  ],
  [
    0x6065,
    {
      name: 'CM_SLAC_PARM.CNF',
      from: 'charger',
      fields: [['M-SOUND_TARGET', 6, 'mac'], ...SOUNDING, ...TYPES, RUN_ID],
    },
  ],
  [
    0x606a,
    { name: 'CM_START_ATTEN_CHAR.IND', from: 'vehicle', fields: [...TYPES, ...SOUNDING, RUN_ID] },
  ],
  [
    0x6076,
    {
      name: 'CM_MNBC_SOUND.IND',
      from: 'vehicle',
      fields: [
        ...TYPES,
        ['SenderID', 17, 'hex'],
        ['Cnt', 1, 'number'],
        RUN_ID,
        ['RSVD', 8, 'hex'],
        ['Rnd', 16, 'hex'],
      ],
    },
  ],
  [
    0x6086,
    {
      name: 'CM_ATTEN_PROFILE.IND',
      from: 'charger',
      fields: [
        ['EV_MAC', 6, 'mac'],
        ['NumGroups', 1, 'number'],
        ['RSVD', 1, 'hex'],
        ['AAG', 0, 'profile'],
      ],
    },
  ],
  [
    0x606e,
    {
      name: 'CM_ATTEN_CHAR.IND',
      from: 'charger',
      fields: [...RESULT_ADDRESSES, ['NumSounds', 1, 'number'], ...PROFILE],
    },
  ],
  [
    0x606f,
    {
      name: 'CM_ATTEN_CHAR.RSP',
      from: 'vehicle',
      fields: [...RESULT_ADDRESSES, ['Result', 1, 'number']],
    },
  ],
  [
    0x6078,
    {
      name: 'CM_VALIDATE.REQ',
      from: 'vehicle',
      fields: [
        ['SignalType', 1, 'number'],
        ['Timer', 1, 'number'],
        ['Result', 1, 'number'],
      ],
    },
  ],
  [
    0x6079,
    {
      name: 'CM_VALIDATE.CNF',
      from: 'charger',
      fields: [
        ['SignalType', 1, 'number'],
        ['ToggleNum', 1, 'number'],
        ['Result', 1, 'number'],
      ],
    },
  ],
  [0x607c, { name: 'CM_SLAC_MATCH.REQ', from: 'vehicle', fields: MATCH }],
  [
    0x607d,
    {
      name: 'CM_SLAC_MATCH.CNF',
      from: 'charger',
      fields: [...MATCH, ['NID', 7, 'withheld'], ['RSVD2', 1, 'hex'], ['NMK', 16, 'withheld']],
    },
  ],
  [
    0x6008,
    {
      name: 'CM_SET_KEY.REQ',
      from: null,
      fields: [
        ['KeyType', 1, 'number'],
        ...KEY_EXCHANGE,
        ['NID', 7, 'withheld'],
        ['NewEKS', 1, 'number'],
        ['NewKey', 16, 'withheld'],
      ],
    },
  ],
  [
    0x6009,
    { name: 'CM_SET_KEY.CNF', from: null, fields: [['Result', 1, 'number'], ...KEY_EXCHANGE] },
  ],
  [
    0x601c,
    {
      name: 'CM_AMP_MAP.REQ',
      from: null,
      fields: [
        ['AMLEN', 2, 'little-endian'],
        ['AMDATA', 0, 'nibbles'],
      ],
    },
  ],
  [0x601d, { name: 'CM_AMP_MAP.CNF', from: null, fields: [['ResType', 1, 'number']] }],
]);
