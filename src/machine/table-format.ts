// The file form of a machine (machine-table.schema.json): for `handfast export`, and for controllers not written in
// XState.
import type { Confidence } from '../facts/figures.ts';
import type { Side } from '../trace/observation.ts';
import type { Drive, FactDomains } from './convention.ts';
import type { Box } from './table-boxes.ts';

export interface MachineFile {
  $schema?: string;
  handfast: 'machine';
  version: 1;
  name: string;
  side: Side;
  protocol: 'din70121' | 'iso15118-2';
  events: { [event: string]: FactDomains };
  delays?: { [name: string]: { ms: number; confidence?: Confidence; source?: string } };
  initial: { state: string; outputs?: FileOutput[] };
  states: { [name: string]: FileState };
}

export interface FileState {
  stage?: string;
  says?: string;
  on?: { [event: string]: FileWay[] };
  after?: { [timer: string]: FileTimer };
}

/** What happens on an event or when a timer runs out. */
export interface FileMove {
  /** Left out: it stays, and all timers go on. */
  to?: string;
  outputs?: FileOutput[];
  /** Timers that go on; others of the state entered begin anew. */
  keeps?: string[];
}

export interface FileWay extends FileMove {
  when?: Box;
}

export interface FileTimer extends FileMove {
  delay?: string;
}

export type FileOutput =
  { send: string; facts?: { [fact: string]: string } } | { drive: Drive['what']; to: string };
