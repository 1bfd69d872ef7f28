// A controller in any language, as a side: JSON Lines over its standard input and output, in virtual time. It is tried,
// never proved: nobody sees what it may do elsewhere. What it does wrong is told of it and ends its session.
import type { SystemCProtocol } from '../protocols/system-c/body-parts.ts';
import { createEventReader } from '../protocols/system-c/event.ts';
import { InputError } from '../trace/input-error.ts';
import type { Side as SideName } from '../trace/observation.ts';
import { Bridge, type BridgeLimits } from './program-bridge.ts';
import { CONTROLLER_VERSION, reactionOf, shown, sightWords } from './program-words.ts';
import type { Reaction, Side, Sight } from './side.ts';

export interface ProgramOptions {
  /** The program and its arguments. */
  readonly command: readonly string[];
  readonly side: SideName;
  readonly protocol: SystemCProtocol;
  readonly limits?: BridgeLimits;
}

/** Told once a session at most: when, and what the program did, in words. */
export type OnFault = (at_ns: number, says: string) => void;

const LIMITS: BridgeLimits = { line_bytes: 65_536, answer_ms: 5000 };
/** A program may take its time to start. */
const STARTS_ms = 20_000;
const NOTHING: Reaction = Object.freeze({ outputs: [], wakeAt_ns: null });

export class Program {
  readonly options: ProgramOptions;
  #bridge: Bridge | null = null;

  constructor(options: ProgramOptions) {
    this.options = options;
  }

  /** The program at the start of a session; it is started anew only after it has failed. */
  side(session: number, onFault: OnFault): Side {
    return new ProgramSide(this, session, onFault);
  }

  /** Starts it if it does not run. Throws InputError when it cannot be started or says no hello. */
  open(): void {
    if (this.#bridge !== null) return;
    const { command, side, protocol, limits = LIMITS } = this.options;
    this.#bridge = new Bridge(command, limits);
    const hello = { handfast: 'controller', version: CONTROLLER_VERSION, side, protocol };
    const answer = this.#bridge.ask(JSON.stringify(hello), STARTS_ms);
    const wrong = 'fault' in answer ? answer.fault : helloFault(answer.line);
    if (wrong === null) return;
    this.close();
    const name = command.join(' ');
    const mend = `a controller first answers {"handfast":"controller","version":${CONTROLLER_VERSION}}`;
    throw new InputError(`the controller ${wrong}`, { file: name }, mend);
  }

  ask(question: object): ReturnType<Bridge['ask']> {
    this.open();
    return this.#bridge!.ask(JSON.stringify(question));
  }

  close(): void {
    this.#bridge?.close();
    this.#bridge = null;
  }
}

function helloFault(line: string): string | null {
  try {
    const { handfast, version } = Object(JSON.parse(line)) as Record<string, unknown>;
    if (handfast === 'controller' && version === CONTROLLER_VERSION) return null;
  } catch {
    // Told below.
  }
  return `said ${shown(line)} instead of hello`;
}

class ProgramSide implements Side {
  readonly name: SideName;
  readonly #program: Program;
  readonly #session: number;
  readonly #onFault: OnFault;
  readonly #event = createEventReader();
  #sessionId: string;
  #failed = false;

  constructor(program: Program, session: number, onFault: OnFault) {
    this.name = program.options.side;
    this.#program = program;
    this.#session = session;
    this.#onFault = onFault;
    this.#sessionId = `A1B2C3D4E5F6070${session % 10}`;
  }

  start(at_ns: number): Reaction {
    return this.#turn(at_ns, { start: this.#session });
  }

  observe(at_ns: number, sights: readonly Sight[]): Reaction {
    const observe = sights.map((sight) => this.#words(sight));
    return this.#turn(at_ns, { observe });
  }

  #words(sight: Sight): object {
    if (sight.kind !== 'message') return sightWords(sight, null, this.#program.options.protocol);
    const id = sight.header?.SessionID;
    if (sight.name === 'SessionSetupRes' && typeof id === 'string') this.#sessionId = id;
    return sightWords(sight, this.#event(sight), this.#program.options.protocol);
  }

  #turn(at_ns: number, asked: Readonly<Record<string, unknown>>): Reaction {
    if (this.#failed) return NOTHING;
    const at = at_ns / 1e9;
    const answer = this.#program.ask({ at, ...asked });
    if ('fault' in answer) return this.#fail(at_ns, answer.fault);
    const { side, protocol } = this.#program.options;
    const speaker = { side, protocol, sessionId: this.#sessionId };
    const reaction = reactionOf(answer.line, at, speaker);
    if (typeof reaction === 'string') return this.#fail(at_ns, reaction);
    for (const output of reaction.outputs) {
      // The charger's own id, by which its vehicle's messages are told from another's.
      if (output.do !== 'send' || output.name !== 'SessionSetupRes') continue;
      const { do: _, ...message } = output;
      this.#event({ kind: 'message', at_ns, from: this.name, ...message });
    }
    return reaction;
  }

  #fail(at_ns: number, says: string): Reaction {
    this.#failed = true;
    this.#program.close();
    this.#onFault(at_ns, `The ${this.name}'s controller ${says}.`);
    return NOTHING;
  }
}
