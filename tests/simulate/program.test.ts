// Controllers that behave and controllers that do not; they are small Node programs, so that every machine can run them.
import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { afterEach, describe, expect, it } from 'vitest';
import { Program } from '../../src/simulate/program.ts';
import { InputError } from '../../src/trace/input-error.ts';

const HELLO = '{"handfast":"controller","version":1}';
const programs: Program[] = [];

/** A controller whose answer to a turn is what `body` returns; `turn` is what it was asked, `n` how often. */
function controller(body: string, answer_ms = 5000): Program {
  const code = `
    let n = -1;
    const lines = require('node:readline').createInterface({ input: process.stdin });
    lines.on('line', (line) => {
      const turn = JSON.parse(line);
      n += 1;
      if (n === 0) return console.log('${HELLO}');
      const said = (() => { ${body} })();
      if (said !== undefined) console.log(typeof said === 'string' ? said : JSON.stringify(said));
    });`;
  const command = [process.execPath, '-e', code];
  const limits = { line_bytes: 65_536, answer_ms };
  const made = new Program({ command, side: 'charger', protocol: 'din70121', limits });
  programs.push(made);
  return made;
}

/** What is told of a controller in its first turns. */
function faultOf(program: Program, turns = 1): string | null {
  let told: string | null = null;
  const side = program.side(0, (_at_ns, says) => (told ??= says));
  side.start(0);
  for (let turn = 1; turn < turns; turn += 1) side.observe(turn * 1e9, []);
  return told;
}

afterEach(() => {
  for (const program of programs.splice(0)) program.close();
});

describe('a controller that behaves', () => {
  it('sees messages in words and is seen to answer, drive and ask to be woken', () => {
    const program = controller(`
      if (turn.start !== undefined) return { outputs: [], wakeAt: null };
      const [seen] = turn.observe;
      return { outputs: [
        { drive: 'output', to: 'precharge', voltage_V: seen.numbers.targetVoltage_V, current_A: 2 },
        { send: seen.name.replace('Req', 'Res'), facts: { isolation: seen.facts.session === 'this' ? 'valid' : 'fault' } },
      ], wakeAt: turn.at + 0.5 };`);
    let told = '';
    const side = program.side(0, (_at_ns, says) => (told = says));
    side.start(0);
    const message = {
      DC_EVStatus: { EVReady: true, EVErrorCode: 'NO_ERROR', EVRESSSOC: 40 },
      EVTargetVoltage: { Multiplier: 0, Unit: 'V', Value: 352 },
      EVTargetCurrent: { Multiplier: 0, Unit: 'A', Value: 2 },
    };
    const header = { SessionID: 'A1B2C3D4E5F60700' };
    const sight = { kind: 'message', name: 'PreChargeReq', from: 'vehicle', at_ns: 2e9 } as const;
    const reaction = side.observe(2e9, [{ ...sight, protocol: 'din70121', message, header }]);
    expect(told).toBe('');
    expect(reaction.wakeAt_ns).toBe(2.5e9);
    expect(reaction.outputs).toMatchObject([
      { do: 'output', to: 'precharge', voltage_V: 352, current_A: 2 },
      { do: 'send', name: 'PreChargeRes', header: { SessionID: 'A1B2C3D4E5F60700' } },
    ]);
  });

  it('is asked in the words of the schema', () => {
    const schema = JSON.parse(
      readFileSync('src/simulate/controller.schema.json', 'utf8'),
    ) as object;
    const validate = new Ajv2020({ strict: true, strictTypes: false }).compile(schema);
    for (const line of [
      { handfast: 'controller', version: 1, side: 'vehicle', protocol: 'din70121' },
      { at: 0, start: 0 },
      { at: 1.5, observe: [{ kind: 'pilot', state: 'C', pwm: true }] },
      { outputs: [{ send: 'CableCheckReq' }, { drive: 'lock', to: 'locked' }], wakeAt: null },
    ]) {
      expect(validate(line), JSON.stringify(line)).toBe(true);
    }
    expect(validate({ outputs: [{ shout: 'hello' }] })).toBe(false);
  });
});

describe('what a controller does wrong is told of it', () => {
  it.each([
    ['ends', 'process.exit(3)', 'ended with exit code 3'],
    ['is killed', 'process.kill(process.pid, "SIGKILL")', 'was ended by SIGKILL'],
    ['says what is no JSON', 'return "hello";', 'answered with what is no JSON: hello'],
    ['says no object', 'return "[]";', 'answered with no object: []'],
    ['gives no outputs', 'return {};', 'answered without a list of outputs'],
    [
      'floods',
      'return { outputs: Array(17).fill({ close: true }) };',
      'answered with more than 16 outputs',
    ],
    [
      'writes an endless line',
      'process.stdout.write("x".repeat(200000));',
      'wrote a line of more than 65536 bytes',
    ],
    ['answers twice', 'return "{}\\n{}";', 'wrote more than one line for an answer'],
    [
      'speaks for its peer',
      'return { outputs: [{ send: "PreChargeReq" }] };',
      'a charger cannot send PreChargeReq',
    ],
    [
      'says a word there is not',
      'return { outputs: [{ send: "PreChargeRes", facts: { status: "fine" } }] };',
      'no words for fine in PreChargeRes',
    ],
    [
      'drives what it has not',
      'return { outputs: [{ drive: "contactors", to: "closed" }] };',
      'a charger cannot drive contactors to closed',
    ],
    [
      'wants to be woken at no time',
      'return { outputs: [], wakeAt: "soon" };',
      'answered with a wakeAt that is neither a number of seconds nor null',
    ],
  ])('one that %s', (_what, body, says) => {
    expect(faultOf(controller(body))).toBe(`The charger's controller ${says}.`);
  });

  it('one that never answers, within its time', () => {
    const program = controller('', 300);
    const started = performance.now();
    expect(faultOf(program)).toBe("The charger's controller gave no answer within 0.3 s.");
    expect(performance.now() - started).toBeLessThan(10_000);
  });

  it('once a session, and the next session starts it anew', () => {
    const program = controller('if (turn.start === 0) process.exit(1); return { outputs: [] };');
    expect(faultOf(program, 3)).toMatch(/exit code 1/);
    const told: string[] = [];
    program.side(1, (_at_ns, says) => told.push(says)).start(0);
    expect(told).toEqual([]);
  });
});

/** Starts a program. */
function open(...command: string[]): () => void {
  const program = new Program({ command, side: 'vehicle', protocol: 'din70121' });
  programs.push(program);
  return () => program.open();
}

describe('a program that is no controller', () => {
  it('is bad input: it is not there, or says no hello', () => {
    expect(open('./no-such-controller')).toThrow(InputError);
    expect(open(process.execPath, '-e', 'console.log("hi"); setTimeout(() => {}, 1e6)')).toThrow(
      /instead of hello|before it was asked/,
    );
  });
});
