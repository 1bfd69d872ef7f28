// What the style sheets ask of the screen, for what they cannot lay out.
import { useEffect, useState } from 'preact/hooks';

/** As in the style sheets. */
export const NARROW = '(max-width: 760px)';

export function useMedia(query: string): boolean {
  const [matches, setMatches] = useState(() => matchMedia(query).matches);
  useEffect(() => {
    const list = matchMedia(query);
    const changed = () => setMatches(list.matches);
    list.addEventListener('change', changed);
    return () => list.removeEventListener('change', changed);
  }, [query]);
  return matches;
}
