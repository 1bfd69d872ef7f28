// What a program may import from handfast.
export type * from './trace/observation.ts';
export { InputError, type InputPlace } from './trace/input-error.ts';
export type * from './rules/result.ts';
export { defineProject, type Project } from './gate/project.ts';
export {
  createSideMachine,
  drive,
  remember,
  send,
  type Chart,
  type Context,
  type Output,
  type SideChart,
  type Step,
  type Steps,
} from './machine/chart.ts';
export type { Drive, FactDomains, MachineEvent, Send, SideMachine } from './machine/convention.ts';
export {
  bridgeResistances_ohm,
  fmvssResistance_ohm,
  loadedPole,
  ohmPerVolt,
  parallel_ohm,
  poleReading_V,
  settling_s,
  twoReadingResistance_ohm,
  type BridgeReadings,
  type Pole,
  type TwoReadings,
} from './physics/isolation.ts';
