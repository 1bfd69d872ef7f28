// A liar: a side whose words, network and hardware go past its machine. It wraps any side, a program in another language
// as well as a machine.
import type { FactDomains, Send } from '../../machine/convention.ts';
import type { SessionProtocol } from '../../protocols/index.ts';
import { protocols } from '../../protocols/index.ts';
import { compose, type Numbers } from '../../protocols/system-c/compose.ts';
import { createEventReader, FACT_VALUES, factsOf } from '../../protocols/system-c/event.ts';
import { readMessage } from '../../protocols/system-c/reading.ts';
import type { Output, Reaction, SendMessage, Side, Sight } from '../../simulate/side.ts';
import type { MessageObservation } from '../../trace/observation.ts';
import type { Director } from './director.ts';
import { COMMANDS, type Item } from './plan.ts';
import { picked } from './words.ts';

type Of<K extends Item['do']> = Extract<Item, { do: K }>;

const FOREIGN = '5E4D3C2B1A090807';

export class Liar implements Side {
  readonly name: Side['name'];
  readonly #inner: Side;
  readonly #director: Director;
  readonly #protocol: SessionProtocol;
  /** Names of the messages its peer knows. */
  readonly #names: readonly string[];
  readonly #event = createEventReader();
  readonly #sent: SendMessage[] = [];
  #held: SendMessage | null = null;

  /** `alphabet`: of the peer. */
  constructor(
    inner: Side,
    director: Director,
    protocol: SessionProtocol,
    alphabet: { readonly [event: string]: FactDomains },
  ) {
    this.name = inner.name;
    this.#inner = inner;
    this.#director = director;
    this.#protocol = protocol;
    const end = inner.name === 'vehicle' ? 'Req' : 'Res';
    // Another handshake would be another session, in which nothing of this one can be judged.
    this.#names = Object.keys(alphabet).filter(
      (name) => name.endsWith(end) && !name.startsWith('supportedAppProtocol'),
    );
  }

  start(at_ns: number): Reaction {
    return this.#twist(this.#inner.start(at_ns));
  }

  observe(at_ns: number, sights: readonly Sight[]): Reaction {
    for (const sight of sights) if (sight.kind === 'message') this.#event(sight);
    return this.#twist(this.#inner.observe(at_ns, sights));
  }

  #twist({ outputs, wakeAt_ns }: Reaction): Reaction {
    if (!outputs.some((output) => output.do === 'send')) return { outputs, wakeAt_ns };
    return { outputs: outputs.flatMap((output) => this.#one(output)), wakeAt_ns };
  }

  #one(output: Output): readonly Output[] {
    if (output.do !== 'send') return [output];
    const at = this.#director.lie(this.name);
    const extra = at?.drive === undefined ? [] : [commandOf(this.name, at.drive.command)];
    let said: SendMessage | null = output;
    if (at?.lie !== undefined) said = this.#lie(at.lie) ?? output;
    else if (at?.alter !== undefined) said = this.#alter(output, at.alter) ?? output;
    return [...extra, ...this.#through(said, at?.network?.how)];
  }

  /** What its network makes of a message. */
  #through(said: SendMessage, how: Of<'network'>['how'] | undefined): readonly SendMessage[] {
    const before = this.#sent;
    const held = this.#held === null ? [] : [this.#held];
    this.#held = null;
    before.push(said);
    switch (how) {
      case 'lost':
        return held;
      case 'repeated':
        return [said, said, ...held];
      case 'stale':
        return [before[Math.max(0, before.length - 3)]!, ...held];
      case 'foreign':
        return [{ ...said, header: { SessionID: FOREIGN } }, ...held];
      case 'reordered':
        this.#held = said;
        return held;
      default:
        return [said, ...held];
    }
  }

  #lie({ message, pick }: Of<'lie'>): SendMessage | null {
    const name = this.#names[message % Math.max(1, this.#names.length)];
    if (name === undefined) return null;
    return this.#compose({ message: name, ...picked(factsOf(name), pick) }, {});
  }

  #alter(said: SendMessage, { fact, pick }: Of<'alter'>): SendMessage | null {
    const facts = factsOf(said.name);
    const changed = facts[fact % Math.max(1, facts.length)];
    const observation: MessageObservation = { kind: 'message', at_ns: 0, from: this.name, ...said };
    const event = this.#event(observation);
    if (changed === undefined || event === null) return null;
    const { type, ...known } = event;
    const kept = Object.entries(known).filter(([, value]) => value !== 'unknown');
    const values = FACT_VALUES[changed];
    const wanted = { ...Object.fromEntries(kept), [changed]: values[pick % values.length]! };
    return this.#compose({ message: type, ...wanted }, this.#numbers(observation));
  }

  #numbers(said: MessageObservation): Partial<Numbers> {
    const reading = readMessage(said, protocols[this.#protocol].dialect);
    const { presentVoltage_V, presentCurrent_A, targetVoltage_V, targetCurrent_A } = reading;
    const sessionId = reading.sessionId ?? FOREIGN;
    const known = { presentVoltage_V, presentCurrent_A, targetVoltage_V, targetCurrent_A };
    const there = Object.entries(known).filter(([, value]) => value !== undefined);
    return { sessionId, ...Object.fromEntries(there) };
  }

  #compose(wanted: Send, numbers: Partial<Numbers>): SendMessage | null {
    const sessionId = this.#sent.findLast(({ header }) => header !== undefined)?.header?.SessionID;
    const own = typeof sessionId === 'string' ? { sessionId } : {};
    try {
      return { do: 'send', ...compose(this.#protocol, wanted, { ...own, ...numbers }) };
    } catch (error) {
      // The protocol has no words for it: a lie that cannot be told is not told.
      if (error instanceof RangeError) return null;
      throw error;
    }
  }
}

/** Its own hardware, driven against its machine. */
function commandOf(side: Side['name'], command: number): Output {
  switch (COMMANDS[side][command % COMMANDS[side].length]!) {
    case 'contactors open':
      return { do: 'contactors', to: 'open' };
    case 'pilot C':
      return { do: 'pilot', to: 'C' };
    case 'pilot B':
      return { do: 'pilot', to: 'B' };
    case 'unlocked':
      return { do: 'lock', to: 'unlocked' };
    case 'output on':
      return { do: 'output', to: 'on', voltage_V: 480, current_A: 150 };
    case 'output test':
      return { do: 'output', to: 'test', voltage_V: 480, current_A: 0 };
    case 'output precharge':
      return { do: 'output', to: 'precharge', voltage_V: 300, current_A: 2 };
    case 'output off':
      return { do: 'output', to: 'off', voltage_V: 0, current_A: 0 };
  }
}
