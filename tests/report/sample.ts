// Invented results, one of each kind a printer meets.
import type {
  FileResult,
  Finding,
  Result,
  RuleResult,
  SessionResult,
} from '../../src/rules/result.ts';

export function finding(changes: Partial<Finding> = {}): Finding {
  return {
    id: 'F1',
    rule: 'within-limits',
    class: 'safety',
    status: 'breach',
    owners: ['charger'],
    frame: 123,
    at: 9.841,
    deadline: null,
    evidence: 'reported',
    confidence: 'confirmed',
    clause: 'DIN SPEC 70121:2014, 9.5.3.2',
    causedBy: null,
    says: "the charger delivered 131 A, 6 A over the vehicle's limit of 125 A",
    seen: 'EVSEPresentCurrent 131 A',
    allowed: 'at most 125 A, the EVMaximumCurrentLimit of frame 121, and 1.5 % of tolerance',
    window: [
      {
        frame: 121,
        at: 9.6,
        from: 'vehicle',
        name: 'CurrentDemandReq',
        says: 'asks 120 A at 400 V, limit 125 A',
        here: false,
        omitted: 0,
      },
      {
        frame: 122,
        at: 9.621,
        from: 'charger',
        name: 'CurrentDemandRes',
        says: 'gives 119.8 A at 398.2 V',
        here: false,
        omitted: 0,
      },
      {
        frame: 123,
        at: 9.841,
        from: 'charger',
        name: 'CurrentDemandRes',
        says: 'gives 131 A at 399 V, EVSE_Ready, no limit reached',
        here: true,
        omitted: 4,
      },
    ],
    ...changes,
  };
}

const rules: RuleResult[] = [
  { rule: 'both-consent', class: 'safety', verdict: 'holds', reason: '', margin: null },
  {
    rule: 'gate-before-close',
    class: 'safety',
    verdict: 'holds',
    reason: '',
    margin: { value: 17.6, limit: 20, unit: 'V', frame: 65, at: 6.25 },
  },
  {
    rule: 'within-limits',
    class: 'safety',
    verdict: 'broken',
    reason: 'F1',
    margin: { value: 131, limit: 125, unit: 'A', frame: 123, at: 9.841 },
  },
  {
    rule: 'cold-unlock',
    class: 'safety',
    verdict: 'not observed',
    reason: 'needs the state of the connector lock, for example from a pilot log given with --with',
    margin: null,
  },
  {
    rule: 'forward-only',
    class: 'safety',
    verdict: 'holds',
    reason: '',
    margin: { value: 0, limit: 0, unit: 'A', frame: 70, at: 6.5 },
  },
  { rule: 'in-order', class: 'conformance', verdict: 'holds', reason: '', margin: null },
];

export function session(changes: Partial<SessionResult> = {}): SessionResult {
  return {
    id: '1',
    protocol: 'din70121',
    vehicle: '02:00:00:00:00:07',
    charger: '02:00:00:00:01:03',
    from: 0.5,
    to: 14.25,
    verdict: 'broken',
    reasons: ['the charger broke within-limits'],
    summary: {
      messages: 178,
      matching: { runId: '20823CFDE6F1C26B', from: 0, to: 0.47, matched: true },
      stages: [
        { stage: 'initialisation', from: 0.5, to: 3, duration_s: 2.5 },
        { stage: 'cable check', from: 3, to: 5, duration_s: 2 },
        { stage: 'pre-charge', from: 5, to: 6.25, duration_s: 1.25 },
        { stage: 'energy transfer', from: 6.25, to: 13, duration_s: 6.75 },
        { stage: 'shutdown', from: 13, to: 14.25, duration_s: 1.25 },
      ],
      energy_Wh: 88.4,
      highestVoltage_V: 402.1,
      highestCurrent_A: 131,
      stateOfCharge: { from_percent: 54, to_percent: 61 },
      ended: {
        by: 'vehicle',
        how: 'PowerDeliveryReq with ReadyToChargeState false, then SessionStop',
      },
      seenFromStart: true,
      seenToEnd: false,
      notObserved: [
        {
          what: 'connector lock',
          needs: 'a pilot or lock log of the same session, given with --with',
        },
      ],
      divergences: [
        {
          side: 'charger',
          frame: 124,
          at: 9.9,
          message: 'PowerDeliveryRes',
          explained: 61,
          states: ['energy transfer'],
          allowed: ['CurrentDemandRes, as the request before it asks'],
          because: 'order',
          excluded: 'no PowerDeliveryReq was pending',
        },
      ],
    },
    rules,
    findings: [
      finding(),
      finding({
        id: 'F2',
        rule: 'follows-demand',
        frame: 125,
        at: 10.081,
        causedBy: 'F1',
        says: 'the charger delivered 131 A where 120 A were asked',
        window: [],
      }),
      finding({
        id: 'F3',
        rule: 'in-time',
        class: 'conformance',
        frame: 40,
        at: 2.75,
        deadline: { armedFrame: 39, due_s: 2.5 },
        says: 'ChargeParameterDiscoveryRes came 0.25 s after its performance time',
        confidence: 'from memory',
        clause: null,
      }),
    ],
    ...changes,
  };
}

export const heldSession = session({
  verdict: 'holds',
  reasons: [],
  findings: [],
  rules: rules.filter((rule) => rule.verdict === 'holds'),
  summary: { ...session().summary, seenToEnd: true, divergences: [], notObserved: [] },
});

export const undecidedSession = session({
  verdict: 'inconclusive',
  reasons: ['the connection is encrypted from frame 25 on', 'no message could be read'],
  vehicle: null,
  charger: null,
  findings: [],
  rules: [],
  summary: {
    messages: 0,
    matching: null,
    stages: [],
    energy_Wh: null,
    highestVoltage_V: null,
    highestCurrent_A: null,
    stateOfCharge: null,
    ended: { by: null, how: 'the recording ends' },
    seenFromStart: false,
    seenToEnd: false,
    notObserved: [{ what: 'messages', needs: 'a recording made behind the TLS end of one side' }],
    divergences: [],
  },
});

export function file(name: string, sessions: SessionResult[], changes = {}): FileResult {
  return {
    file: name,
    epoch: '2026-03-02T08:14:05.123456789Z',
    verdict: sessions[0]?.verdict ?? 'unreadable',
    reasons: sessions.length > 0 ? [] : [`${name}, byte 24: the file ends inside a block`],
    sessions,
    ...changes,
  };
}

export function result(...files: FileResult[]): Result {
  const order = ['broken', 'unreadable', 'inconclusive', 'holds'] as const;
  const verdict = order.find((one) => files.some((each) => each.verdict === one)) ?? 'holds';
  return { schemaVersion: 1, verdict, files };
}

export const broken = result(file('quay/shuttle-7.pcapng', [session()]));
export const held = result(file('quay/shuttle-3.pcapng', [heldSession]));
export const undecided = result(file('quay/encrypted.pcapng', [undecidedSession]));
export const unreadable = result(file('quay/notes.txt', []));
export const many = result(
  ...broken.files,
  ...held.files,
  ...undecided.files,
  ...unreadable.files,
  file('quay/idle.pcapng', [{ ...heldSession, summary: { ...heldSession.summary, energy_Wh: 0 } }]),
);
