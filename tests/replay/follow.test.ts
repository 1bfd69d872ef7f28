// Hand-made sessions, followed on both sides. What is allowed and what is not: DIN SPEC 70121 9.6 and 9.7,
// ISO 15118-2 8.7 and 8.8 (from memory).
import { describe, expect, it } from 'vitest';
import { createFollower, type Follower } from '../../src/replay/follow.ts';
import type { Divergence } from '../../src/rules/result.ts';
import { charger } from '../../machines/iso15118-2/charger.ts';
import { vehicle } from '../../machines/iso15118-2/vehicle.ts';
import { answers, approach, beginning, ending, requests, timed, transfer } from './sessions.ts';

interface Followed {
  vehicle: Follower;
  charger: Follower;
  divergences: Divergence[];
  stages: string[];
  repeated: number;
}

function follow(lines: readonly string[], joined = false): Followed {
  const both = {
    vehicle: createFollower({ side: 'vehicle', machine: vehicle, joined }),
    charger: createFollower({ side: 'charger', machine: charger, joined }),
  };
  const found: Followed = { ...both, divergences: [], stages: [], repeated: 0 };
  timed(lines).forEach(({ at_s, from, event }, i) => {
    for (const side of ['vehicle', 'charger'] as const) {
      const step = both[side].observe(event, from, Math.round(at_s * 1e9), i + 1);
      if (step.divergence !== null) found.divergences.push(step.divergence);
      if (step.repeated) found.repeated += 1;
      if (side === 'vehicle') found.stages.push(step.stages.join('/'));
    }
  });
  return found;
}

const clean = [...beginning, ...approach, ...transfer, ...ending];
const told = ({ divergences }: Followed): string[] =>
  divergences.map(({ side, frame, message, because }) => `${side} ${frame} ${message} ${because}`);
const say = (line: string, ...changes: [string, string][]): string => {
  let changed = line;
  for (const [from, to] of changes) changed = changed.replace(from, to);
  expect(changed).not.toBe(line);
  return changed;
};

const early = [...beginning, ...approach];
const stop = [requests.stop, answers.power];
const end = [requests.end, answers.end];
const renegotiate = [
  ...early,
  ...transfer,
  say(requests.stop, ['stop', 'renegotiate']),
  answers.power,
  beginning.at(-2)!,
  say(beginning.at(-1)!, ['status=not ready isolation=invalid', 'status=ready isolation=valid']),
];
const renegotiatedUntested = [...renegotiate.slice(0, -1), beginning.at(-1)!];

describe('a session within the standard', () => {
  it.each<[string, readonly string[]]>([
    ['a clean session', clean],
    ['no welding detection', [...early, ...transfer, ...stop, ...end]],
    ['SessionStop right after the session is set up', [...beginning.slice(0, 4), ...end]],
    ['SessionStop in the transfer', [...early, ...transfer, ...end]],
    ['PowerDelivery stop before the cable check', [...beginning, ...stop, ...end]],
    [
      'PowerDelivery stop in the cable check',
      [...beginning, ...approach.slice(0, 2), ...stop, ...end],
    ],
    ['PowerDelivery stop in the pre-charge', [...early, ...stop, ...end]],
    [
      'a session without energy after power was granted',
      [...early, ...transfer.slice(0, 2), ...stop, ...end],
    ],
    ['renegotiation, power again at once', [...renegotiate, ...transfer, ...ending]],
    [
      'renegotiation with pre-charge',
      [...renegotiate, ...approach.slice(4), ...transfer, ...ending],
    ],
    ['renegotiation with cable check', [...renegotiate, ...approach, ...transfer, ...ending]],
    [
      'renegotiation that takes the isolation test back, with cable check',
      [...renegotiatedUntested, ...approach, ...transfer, ...ending],
    ],
    [
      'a pause',
      [...early, ...transfer, ...stop, say(requests.end, ['terminate', 'pause']), answers.end],
    ],
    [
      'a refusal that ends it',
      [...beginning.slice(0, 5), 'ServiceDiscoveryRes session=this code=failed'],
    ],
    [
      'a failed cable check, then SessionStop',
      [
        ...beginning,
        requests.cableCheck,
        say(answers.cableCheckDone, ['code=ok', 'code=failed']),
        ...end,
      ],
    ],
    [
      'an emergency, stopped at once',
      [
        ...early,
        ...transfer,
        requests.demand,
        say(answers.demand, ['status=ready', 'status=emergency']),
        ...ending,
      ],
    ],
    [
      'an emergency, 0 A asked first',
      [
        ...early,
        ...transfer,
        requests.demand,
        say(answers.demand, ['status=ready', 'status=emergency']),
        say(requests.demand, ['some', 'none']),
        say(answers.demand, ['status=ready', 'status=emergency']),
        ...ending,
      ],
    ],
    [
      'a stop asked, demand coming down for 3 s',
      [
        ...early,
        ...transfer,
        requests.demand,
        say(answers.demand, ['notification=none', 'notification=stop now']),
        'wait 3',
        requests.demand,
        say(answers.demand, ['notification=none', 'notification=stop now']),
        ...ending,
      ],
    ],
    [
      'a fault of the vehicle told, then the stop',
      [
        ...early,
        ...transfer,
        say(requests.demand, ['error=none', 'error=fault']),
        answers.demand,
        ...ending,
      ],
    ],
    [
      'a fault of the vehicle told in pre-charge, then the stop',
      [
        ...early,
        say(requests.preCharge, ['error=none', 'error=fault']),
        answers.preCharge,
        ...ending,
      ],
    ],
    [
      'an error code that says nothing (NoData)',
      [
        ...early,
        say(requests.start, ['error=none', 'error=unknown']),
        answers.power,
        ...transfer.slice(2),
        ...ending,
      ],
    ],
    [
      'a demand answered within tolerance after 0.25 s',
      [...early, ...transfer, requests.demand, 'wait 0.25', answers.demand, ...ending],
    ],
  ])('%s has no divergence', (_, lines) => {
    const followed = follow(lines);
    expect(told(followed)).toEqual([]);
    expect(followed.repeated).toBe(0);
  });

  it('goes through the stages in the standard’s words', () => {
    expect([...new Set(follow(clean).stages)]).toEqual([
      'initialisation',
      'cable check',
      'pre-charge',
      'energy transfer',
      'shutdown',
    ]);
  });
});

describe('a divergence', () => {
  it('of order: pre-charge while the cable check is not finished', () => {
    const followed = follow([
      ...beginning,
      ...approach.slice(0, 2),
      ...approach.slice(4),
      ...transfer,
      ...ending,
    ]);
    expect(told(followed)).toEqual([
      'vehicle 17 PreChargeReq order',
      // Out of order, it must be refused; answered OK it is the charger's divergence too.
      'charger 18 PreChargeRes guard',
    ]);
    const [first] = followed.divergences;
    expect(first!.explained).toBe(8);
    expect(first!.states).toEqual(['cable check: may send CableCheckReq again']);
    expect(first!.allowed).toEqual([
      'CableCheckReq with error none (choose.next)',
      'CableCheckReq with error fault (sense.fault)',
      'PowerDeliveryReq with progress stop (choose.stop)',
      'SessionStopReq with ending terminate (choose.end)',
      'SessionStopReq with ending pause (choose.pause)',
    ]);
    expect(first!.excluded).toMatch(/^out of order after CableCheckRes with processing ongoing/);
  });

  it('of a guard: current asked after an emergency, once and not again for each message', () => {
    const emergency = say(answers.demand, ['status=ready', 'status=emergency']);
    const on = [requests.demand, emergency];
    const followed = follow([...early, ...transfer, ...on, ...on, ...on, ...ending]);
    expect(told(followed)).toEqual(['vehicle 31 CurrentDemandReq guard']);
    expect(followed.repeated).toBe(1);
    expect(followed.divergences[0]!.excluded).toBe(
      'demand is some where none is allowed, after CurrentDemandRes with status emergency',
    );
    expect(followed.divergences[0]!.allowed[0]).toBe(
      'CurrentDemandReq with demand none (choose.next)',
    );
  });

  it('of a guard: another session, on both sides', () => {
    const foreign = say(requests.demand, ['session=this', 'session=foreign']);
    const followed = follow([...early, ...transfer, foreign, answers.demand, ...ending]);
    expect(told(followed)).toEqual([
      'vehicle 29 CurrentDemandReq guard',
      'charger 30 CurrentDemandRes guard',
    ]);
    expect(followed.divergences[0]!.excluded).toMatch(/^session is foreign where this is allowed/);
    expect(followed.divergences[1]!.excluded).toMatch(
      /^code is ok where unknown session is allowed/,
    );
  });

  it('of a guard: a cable check finished without a passed test', () => {
    const bad = say(answers.cableCheckDone, ['isolation=valid', 'isolation=invalid']);
    const followed = follow([...beginning, requests.cableCheck, bad]);
    expect(told(followed)).toEqual(['charger 16 CableCheckRes guard']);
    expect(followed.divergences[0]!.excluded).toMatch(
      /^processing is finished where ongoing is allowed/,
    );
  });

  it('of a guard: power again though the renegotiation took the isolation test back', () => {
    const followed = follow([...renegotiatedUntested, ...transfer]);
    expect(told(followed)[0]).toBe('vehicle 33 PowerDeliveryReq guard');
  });

  it.each<[string, string[], string, RegExp]>([
    [
      'a demand unanswered for 1.4 s',
      [...early, ...transfer, requests.demand, 'wait 1.3', requests.demand, answers.demand],
      'vehicle 30 CurrentDemandReq timer',
      /^V2G_EVCC_Msg_Timeout_CurrentDemand of 0\.25 s had run out 1\.15 s before/,
    ],
    [
      'an answer 0.5 s after its demand, taken as if in time',
      [...early, ...transfer, requests.demand, 'wait 0.48', answers.demand, requests.demand],
      'vehicle 31 CurrentDemandReq timer',
      /^V2G_EVCC_Msg_Timeout_CurrentDemand/,
    ],
    [
      'pre-charge for 9 s',
      [...early, 'wait 9', ...transfer],
      'vehicle 23 PowerDeliveryReq timer',
      /^V2G_EVCC_PreCharge_Timeout of 7 s/,
    ],
    [
      'cable check for 42 s',
      [...beginning, ...approach.slice(0, 2), 'wait 42', ...approach.slice(2)],
      'vehicle 17 CableCheckReq timer',
      /^V2G_EVCC_(CableCheck_Timeout|Sequence_Performance_Time) of 40 s/,
    ],
    [
      '45 s before the next request',
      [...beginning, 'wait 45', ...approach],
      'vehicle 15 CableCheckReq timer',
      /^V2G_EVCC_Sequence_Performance_Time of 40 s/,
    ],
    [
      'stop asked and 8 s of demand',
      [
        ...early,
        ...transfer,
        requests.demand,
        say(answers.demand, ['notification=none', 'notification=stop now']),
        'wait 8',
        requests.demand,
        answers.demand,
      ],
      'vehicle 31 CurrentDemandReq timer',
      /^EV_Stop_Request_End of 6 s/,
    ],
  ])('of a timer: %s', (_, lines, expected, excluded) => {
    const { divergences } = follow(lines);
    const [first] = divergences;
    expect(`${first!.side} ${first!.frame} ${first!.message} ${first!.because}`).toBe(expected);
    expect(first!.excluded).toMatch(excluded);
  });

  it('of a timer on the charger: Ongoing after 55 s', () => {
    const ongoing = [
      'AuthorizationReq session=this',
      'AuthorizationRes session=this code=ok processing=ongoing',
    ];
    const slow = Array.from({ length: 4 }, () => ['wait 18', ...ongoing]).flat();
    const { divergences } = follow([...beginning.slice(0, 10), ...slow]);
    const charged = divergences.find(({ side }) => side === 'charger');
    expect(charged).toMatchObject({ message: 'AuthorizationRes', because: 'timer' });
    expect(charged!.excluded).toMatch(/^V2G_SECC_Ongoing_Performance_Time of 55 s/);
  });

  it('is not the charger’s when it refuses what is out of order', () => {
    const refused = say(answers.demand, ['code=ok', 'code=sequence error']);
    const followed = follow([...beginning, requests.demand, refused, ...end]);
    expect(told(followed)).toEqual(['vehicle 15 CurrentDemandReq order']);
  });

  it('goes on after one and finds the next', () => {
    const followed = follow([
      ...beginning,
      ...approach.slice(4),
      ...transfer,
      say(requests.demand, ['session=this', 'session=foreign']),
      answers.demand,
    ]);
    expect(told(followed)).toEqual([
      'vehicle 15 PreChargeReq order',
      'charger 16 PreChargeRes guard',
      'vehicle 25 CurrentDemandReq guard',
      'charger 26 CurrentDemandRes guard',
    ]);
  });

  it('of a message the protocol does not know leaves the side where it was', () => {
    const followed = follow([...early, ...transfer, 'ChargingStatusReq session=this', ...ending]);
    expect(told(followed)).toEqual(['vehicle 29 ChargingStatusReq order']);
  });
});

describe('a recording that starts or breaks midway', () => {
  it.each([0, 1, 4, 15, 18, 23, 25, 29, 34])('joined at message %d has no divergence', (from) => {
    expect(told(follow(clean.slice(from), true))).toEqual([]);
  });

  it('joined knows the stage after the first messages', () => {
    expect(follow(clean.slice(24), true).stages[0]).toBe('energy transfer');
  });

  it('joined finds what is wrong after that', () => {
    const lines = [...transfer.slice(2), requests.preCharge, answers.preCharge];
    expect(told(follow(lines, true))).toEqual([
      'vehicle 5 PreChargeReq order',
      'charger 6 PreChargeRes guard',
    ]);
  });

  it('says nothing about what a gap may hide, and follows on behind it', () => {
    const follower = createFollower({ side: 'vehicle', machine: vehicle, joined: false });
    const seen: string[] = [];
    const give = (lines: readonly string[], after_s: number): void => {
      for (const { at_s, from, event } of timed(lines)) {
        const { divergence } = follower.observe(
          event,
          from,
          Math.round((at_s + after_s) * 1e9),
          null,
        );
        if (divergence) seen.push(divergence.message);
      }
    };
    give(beginning, 0);
    follower.gap();
    give(transfer.slice(2), 10);
    expect(seen).toEqual([]);
    give([requests.cableCheck], 12);
    expect(seen).toEqual(['CableCheckReq']);
  });

  it('ends with the connection', () => {
    const followed = follow([...early, ...transfer]);
    followed.vehicle.linkClosed(20e9);
    followed.charger.linkClosed(20e9);
    expect(followed.vehicle.states()).toContain('shutdown: has ended the session');
    expect(followed.charger.states()).toEqual([
      'shutdown: has ended the session, connection closed',
    ]);
  });
});

describe('coverage', () => {
  it('counts leaf states of the machine', () => {
    const { visited, of, unvisited } = follow(clean).vehicle.coverage();
    expect(visited).toBeGreaterThan(10);
    expect(of - visited).toBe(unvisited.length);
    expect(unvisited).toContain('renegotiating.settled');
    expect(unvisited).not.toContain('transfer.running.waits');
  });
});
