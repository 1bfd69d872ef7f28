// Pointer and wheel over the chart: point, drag to zoom, shift-drag or one finger to pan, pinch, wheel with a key held.
import type { Span } from './board.ts';
import { moved, scaled } from './spans.ts';

export interface Target {
  /** CSS pixels of the time axis. */
  width(): number;
  span(): Span;
  show(span: Span): void;
  /** The pointer is at `x`; null when it left. */
  point(x: number | null): void;
  /** A stretch is being chosen; null when that is over. */
  choose(stretch: { left: number; right: number } | null): void;
  click(x: number): void;
}

/** A shorter way is a click. */
const DRAG_FROM_px = 5;
/** Fingers closer than this count as so far apart. */
const CLOSEST_px = 8;
/** One notch of a wheel (120) scales by a quarter. */
const ZOOM_BASE = 1.0018;

interface Drag {
  id: number;
  start: number;
  last: number;
  pans: boolean;
  far: boolean;
}

/** Listens on the element; gives the function that stops it. */
export function listen(element: HTMLElement, target: Target): () => void {
  const gestures = new Gestures(element, target);
  const stop = new AbortController();
  const on = <Name extends keyof HTMLElementEventMap>(
    name: Name,
    handler: (event: HTMLElementEventMap[Name]) => void,
  ) => element.addEventListener(name, handler, { passive: false, signal: stop.signal });
  on('pointerdown', (event) => gestures.down(event));
  on('pointermove', (event) => gestures.move(event));
  on('pointerup', (event) => gestures.up(event));
  on('pointercancel', (event) => gestures.cancel(event));
  on('pointerleave', () => gestures.leave());
  on('wheel', (event) => gestures.wheel(event));
  return () => stop.abort();
}

class Gestures {
  readonly #element: HTMLElement;
  readonly #target: Target;
  /** Where each finger is. */
  readonly #fingers = new Map<number, number>();
  #drag: Drag | null = null;

  constructor(element: HTMLElement, target: Target) {
    this.#element = element;
    this.#target = target;
  }

  down(event: PointerEvent): void {
    if (event.button > 1) return;
    const x = this.#x(event);
    const isTouch = event.pointerType === 'touch';
    if (isTouch) this.#fingers.set(event.pointerId, x);
    const pans = isTouch || event.shiftKey || event.button === 1;
    this.#drag = { id: event.pointerId, start: x, last: x, pans, far: false };
    this.#element.setPointerCapture(event.pointerId);
  }

  move(event: PointerEvent): void {
    const target = this.#target;
    const x = this.#x(event);
    if (this.#fingers.size === 2 && this.#fingers.has(event.pointerId)) {
      this.#pinch(event.pointerId, x);
      return;
    }
    target.point(x);
    const drag = this.#drag;
    if (drag === null || drag.id !== event.pointerId) return;
    drag.far ||= Math.abs(x - drag.start) > DRAG_FROM_px;
    if (!drag.far) return;
    if (drag.pans) target.show(moved(target.span(), (drag.last - x) / target.width()));
    else target.choose({ left: Math.min(x, drag.start), right: Math.max(x, drag.start) });
    drag.last = x;
  }

  up(event: PointerEvent): void {
    const target = this.#target;
    const drag = this.#drag;
    this.#fingers.delete(event.pointerId);
    if (drag === null || drag.id !== event.pointerId) return;
    this.#drag = null;
    target.choose(null);
    const x = this.#x(event);
    const [left, right] = [Math.min(x, drag.start), Math.max(x, drag.start)];
    if (!drag.far) target.click(x);
    else if (!drag.pans) target.show({ from: this.#time(left), to: this.#time(right) });
  }

  cancel(event: PointerEvent): void {
    this.#fingers.delete(event.pointerId);
    this.#drag = null;
    this.#target.choose(null);
  }

  leave(): void {
    if (this.#drag === null) this.#target.point(null);
  }

  /** Without a key the wheel scrolls the page. */
  wheel(event: WheelEvent): void {
    const target = this.#target;
    if (event.ctrlKey || event.metaKey) {
      const about = this.#time(this.#x(event));
      target.show(scaled(target.span(), ZOOM_BASE ** event.deltaY, about));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      target.show(moved(target.span(), (event.deltaX || event.deltaY) / target.width()));
    } else return;
    event.preventDefault();
  }

  #pinch(id: number, x: number): void {
    const [a, b] = [...this.#fingers.values()] as [number, number];
    this.#fingers.set(id, x);
    const [c, d] = [...this.#fingers.values()] as [number, number];
    const factor = Math.max(CLOSEST_px, Math.abs(a - b)) / Math.max(CLOSEST_px, Math.abs(c - d));
    this.#target.show(scaled(this.#target.span(), factor, this.#time((c + d) / 2)));
    this.#drag = null;
  }

  #x(event: MouseEvent): number {
    return event.clientX - this.#element.getBoundingClientRect().left;
  }

  #time(x: number): number {
    const { from, to } = this.#target.span();
    return from + (x / this.#target.width()) * (to - from);
  }
}
