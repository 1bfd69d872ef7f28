// Which lines of a long list are in sight. All have one height, except that below one of them its content is shown.
import type { RefObject } from 'preact';
import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { NARROW, useMedia } from '../media.ts';

/** Lines kept ready above and below what is in sight. */
const READY = 12;
const WIDE_px = 30;
const NARROW_px = 54;

export interface ListWindow {
  scroller: RefObject<HTMLDivElement | null>;
  onScroll: () => void;
  rowHeight: number;
  /** Of the whole list. */
  height: number;
  range: number[];
  top(index: number): number;
  /** Scrolls a line into sight. */
  bring(index: number): void;
  /** Height of the content shown below the expanded line. */
  setDetail: (height: number) => void;
}

export function useWindow(amount: number, expanded: number): ListWindow {
  const scroller = useRef<HTMLDivElement>(null);
  const [scroll, setScroll] = useState(0);
  const [room, setRoom] = useState(600);
  const [detail, setDetail] = useState(0);
  // On a narrow screen a line takes two lines of text.
  const rowHeight = useMedia(NARROW) ? NARROW_px : WIDE_px;
  const below = expanded < 0 ? 0 : detail;
  const top = (index: number) =>
    index * rowHeight + (expanded >= 0 && index > expanded ? below : 0);

  useEffect(() => {
    const element = scroller.current!;
    const sizes = new ResizeObserver(() => setRoom(element.clientHeight));
    sizes.observe(element);
    return () => sizes.disconnect();
  }, []);

  const onScroll = useCallback(() => setScroll(scroller.current!.scrollTop), []);
  const first = Math.max(0, Math.floor((scroll - below) / rowHeight) - READY);
  const last = Math.min(amount - 1, Math.ceil((scroll + room) / rowHeight) + READY);
  const range: number[] = [];
  for (let index = first; index <= last; index += 1) range.push(index);
  return {
    scroller,
    onScroll,
    rowHeight,
    height: amount * rowHeight + below,
    range,
    top,
    bring: (index) => {
      const element = scroller.current!;
      const at = index * rowHeight;
      const shown = at >= element.scrollTop && at + rowHeight * 4 <= element.scrollTop + room;
      if (!shown) element.scrollTop = Math.max(0, at - room / 3);
    },
    setDetail,
  };
}
