// The actuator of a connector lock: it takes its time, tells where it is, and may jam.
//
//   lock.command('locked' | 'unlocked'); lock.step(dt_s); lock.state: 'locked' | 'unlocked' | 'between'
//   lock.jammed = true stops it where it is.

/** Our choice; usual actuators take between 0.1 s and 1 s (from memory). */
const TRAVEL_s = 0.3;

export class LockActuator {
  jammed = false;
  /** 0 is unlocked, 1 is locked. */
  position = 0;
  commanded: 'locked' | 'unlocked' = 'unlocked';
  readonly #travel_s: number;

  constructor(travel_s: number = TRAVEL_s) {
    this.#travel_s = travel_s;
  }

  get state(): 'locked' | 'unlocked' | 'between' {
    if (this.position === 1) return 'locked';
    return this.position === 0 ? 'unlocked' : 'between';
  }

  command(to: 'locked' | 'unlocked'): void {
    this.commanded = to;
  }

  step(dt_s: number): void {
    if (this.jammed) return;
    const moved = (this.commanded === 'locked' ? dt_s : -dt_s) / this.#travel_s;
    // A step that ends a hair short by rounding has arrived.
    const position = this.position + moved;
    this.position = position > 1 - 1e-9 ? 1 : position < 1e-9 ? 0 : position;
  }
}
