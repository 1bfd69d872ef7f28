// Why the file form of a machine is refused: against its schema, and where one part of it names another that is not
// there. Every message says the place in the JSON, what is wrong and the mend.
import { Ajv2020, type ErrorObject, type ValidateFunction } from 'ajv/dist/2020.js';
import { InputError } from '../trace/input-error.ts';
import { shown } from '../trace/schema.ts';
import schema from './machine-table.schema.json' with { type: 'json' };
import type { FileMove, FileState, FileWay, MachineFile } from './table-format.ts';

let validate: ValidateFunction<MachineFile> | undefined;

/** The file, when it can be used; else an InputError. */
export function checkFile(json: unknown, name: string): MachineFile {
  validate ??= new Ajv2020({ verbose: true }).compile<MachineFile>(schema);
  if (!validate(json)) {
    const { path, what, mend } = tell(validate.errors!);
    throw new InputError(`${path}: ${what}`, { file: name }, mend);
  }
  const fault = brokenReference(json);
  if (fault !== null)
    throw new InputError(`${fault.path}: ${fault.what}`, { file: name }, fault.mend);
  return json;
}

interface Fault {
  path: string;
  what: string;
  mend: string;
}

const SEE = 'see handfast/schema/machine-table.json';

function tell(errors: readonly ErrorObject[]): Fault {
  // An output that is neither a message nor a command fails in every alternative; only together they say it.
  const error = errors.find(({ keyword }) => keyword === 'oneOf') ?? errors[0]!;
  const path = error.instancePath === '' ? '/' : error.instancePath;
  const params = error.params as Record<string, unknown>;
  const got = shown(error.data);
  switch (error.keyword) {
    case 'required':
      return { path, what: `${String(params.missingProperty)} is missing`, mend: SEE };
    case 'additionalProperties':
      return { path, what: `${shown(params.additionalProperty)} is not known here`, mend: SEE };
    case 'enum':
      return {
        path,
        what: `${got} is not known here`,
        mend: `use one of ${(params.allowedValues as string[]).join(', ')}`,
      };
    case 'const':
      return { path, what: `is ${got}`, mend: `it must be ${JSON.stringify(params.allowedValue)}` };
    case 'type':
      return { path, what: `is ${got}`, mend: `it must be of type ${String(params.type)}` };
    case 'oneOf':
      return {
        path,
        what: 'is neither a message nor a command',
        mend: 'give { "send", "facts" } or { "drive", "to" }',
      };
    case 'propertyNames':
    case 'pattern':
      return {
        path,
        what: `${shown(params.propertyName ?? error.data)} cannot be a name here`,
        mend: SEE,
      };
    default:
      return { path, what: error.message ?? 'is not as described', mend: SEE };
  }
}

function brokenReference(file: MachineFile): Fault | null {
  const { states, initial } = file;
  if (!Object.hasOwn(states, initial.state)) return noState('/initial/state', initial.state);
  for (const [name, state] of Object.entries(states)) {
    const fault = stateFault(file, name, state);
    if (fault !== null) return fault;
  }
  return null;
}

function noState(path: string, name: string): Fault {
  return { path, what: `there is no state ${shown(name)}`, mend: 'name one of `states`' };
}

function stateFault(file: MachineFile, name: string, state: FileState): Fault | null {
  const at = `/states/${escape(name)}`;
  for (const [event, ways] of Object.entries(state.on ?? {})) {
    const path = `${at}/on/${escape(event)}`;
    if (!Object.hasOwn(file.events, event)) {
      const mend = 'add it to `events` with the values of its facts';
      return { path, what: `${shown(event)} is not an event of this machine`, mend };
    }
    for (const [i, way] of ways.entries()) {
      const fault =
        guardFault(file, event, way, `${path}/${i}/when`) ??
        moveFault(file, state, way, `${path}/${i}`);
      if (fault !== null) return fault;
    }
  }
  for (const [key, timer] of Object.entries(state.after ?? {})) {
    const path = `${at}/after/${escape(key)}`;
    const delay = timer.delay ?? key;
    if (!Object.hasOwn(file.delays ?? {}, delay)) {
      const mend = 'add it to `delays` with its length in ms';
      return { path, what: `there is no delay ${shown(delay)}`, mend };
    }
    const fault = moveFault(file, state, timer, path);
    if (fault !== null) return fault;
  }
  return null;
}

function guardFault(
  { events }: MachineFile,
  event: string,
  { when = {} }: FileWay,
  path: string,
): Fault | null {
  const domains = events[event]!;
  for (const [fact, values] of Object.entries(when)) {
    if (!Object.hasOwn(domains, fact)) {
      const mend = `give it under events/${event}, or ask for ${Object.keys(domains).join(', ') || 'nothing'}`;
      return { path, what: `${event} has no fact ${shown(fact)}`, mend };
    }
    const odd = values.find((value) => !domains[fact]!.includes(value));
    if (odd !== undefined) {
      const mend = `${fact} of ${event} may be ${domains[fact]!.join(', ')}`;
      return { path: `${path}/${escape(fact)}`, what: `${shown(odd)} never comes`, mend };
    }
  }
  return null;
}

function runs({ after = {} }: FileState, timer: string): boolean {
  return Object.hasOwn(after, timer);
}

function moveFault(
  { states }: MachineFile,
  from: FileState,
  { to, keeps = [] }: FileMove,
  path: string,
): Fault | null {
  if (to !== undefined && !Object.hasOwn(states, to)) return noState(`${path}/to`, to);
  if (to === undefined && keeps.length > 0) {
    return {
      path: `${path}/keeps`,
      what: 'there is no next state',
      mend: 'staying keeps all timers; leave `keeps` out',
    };
  }
  const lost = keeps.find((key) => !runs(from, key) || !runs(states[to!]!, key));
  if (lost === undefined) return null;
  const mend = 'a timer that goes on stands under `after` in both states';
  return { path: `${path}/keeps`, what: `${shown(lost)} does not run in both states`, mend };
}

/** A part of a JSON Pointer (RFC 6901). */
function escape(part: string): string {
  return part.replaceAll('~', '~0').replaceAll('/', '~1');
}
