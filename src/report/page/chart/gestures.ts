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

interface Drag {
  id: number;
  start: number;
  last: number;
  pans: boolean;
  far: boolean;
}

/** Listens on the element; gives the function that stops it. */
export function listen(element: HTMLElement, target: Target): () => void {
  const fingers = new Map<number, number>();
  let drag: Drag | null = null;
  const xOf = (event: MouseEvent) => event.clientX - element.getBoundingClientRect().left;
  const timeAt = (x: number) => {
    const { from, to } = target.span();
    return from + (x / target.width()) * (to - from);
  };

  const down = (event: PointerEvent) => {
    if (event.button > 1) return;
    const x = xOf(event);
    if (event.pointerType === 'touch') fingers.set(event.pointerId, x);
    const pans = event.pointerType === 'touch' || event.shiftKey || event.button === 1;
    drag = { id: event.pointerId, start: x, last: x, pans, far: false };
    element.setPointerCapture(event.pointerId);
  };

  const move = (event: PointerEvent) => {
    const x = xOf(event);
    if (fingers.size === 2 && fingers.has(event.pointerId)) {
      pinch(event.pointerId, x);
      return;
    }
    target.point(x);
    if (drag === null || drag.id !== event.pointerId) return;
    drag.far ||= Math.abs(x - drag.start) > DRAG_FROM_px;
    if (!drag.far) return;
    if (drag.pans) target.show(moved(target.span(), (drag.last - x) / target.width()));
    else target.choose({ left: Math.min(x, drag.start), right: Math.max(x, drag.start) });
    drag.last = x;
  };

  const pinch = (id: number, x: number) => {
    const [a, b] = [...fingers.values()] as [number, number];
    fingers.set(id, x);
    const [c, d] = [...fingers.values()] as [number, number];
    const factor = Math.max(8, Math.abs(a - b)) / Math.max(8, Math.abs(c - d));
    target.show(scaled(target.span(), factor, timeAt((c + d) / 2)));
    drag = null;
  };

  const up = (event: PointerEvent) => {
    fingers.delete(event.pointerId);
    if (drag === null || drag.id !== event.pointerId) return;
    const { start, far, pans } = drag;
    drag = null;
    target.choose(null);
    const x = xOf(event);
    if (!far) target.click(x);
    else if (!pans)
      target.show({ from: timeAt(Math.min(x, start)), to: timeAt(Math.max(x, start)) });
  };

  const cancel = (event: PointerEvent) => {
    fingers.delete(event.pointerId);
    drag = null;
    target.choose(null);
  };

  const leave = () => {
    if (drag === null) target.point(null);
  };

  /** Without a key the wheel scrolls the page. */
  const wheel = (event: WheelEvent) => {
    if (event.ctrlKey || event.metaKey) {
      target.show(scaled(target.span(), 1.0018 ** event.deltaY, timeAt(xOf(event))));
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      target.show(moved(target.span(), (event.deltaX || event.deltaY) / target.width()));
    } else return;
    event.preventDefault();
  };

  const listeners: [string, (event: never) => void][] = [
    ['pointerdown', down],
    ['pointermove', move],
    ['pointerup', up],
    ['pointercancel', cancel],
    ['pointerleave', leave],
    ['wheel', wheel],
  ];
  for (const [name, handler] of listeners) {
    element.addEventListener(name, handler as EventListener, { passive: false });
  }
  return () => {
    for (const [name, handler] of listeners) {
      element.removeEventListener(name, handler as EventListener);
    }
  };
}
