// Search and filters of the sequence, to be typed and ticked.
import { useEffect, useState } from 'preact/hooks';
import type { Filters } from './filters.ts';

/** A search through tens of thousands of messages waits until the typing pauses. */
const PAUSE_ms = 150;

type Tick = {
  [name in keyof Filters]: Filters[name] extends boolean ? name : never;
}[keyof Filters];

const TICKS: { name: Tick; says: string }[] = [
  { name: 'vehicle', says: 'vehicle' },
  { name: 'charger', says: 'charger' },
  { name: 'records', says: 'other records' },
  { name: 'inView', says: 'only what the chart shows' },
  { name: 'fold', says: 'fold repeats' },
];

interface FilterBarProps {
  filters: Filters;
  onFilters: (filters: Filters) => void;
}

export function FilterBar({ filters, onFilters }: FilterBarProps) {
  const [typed, setTyped] = useState(filters.words);
  useEffect(() => setTyped(filters.words), [filters.words]);
  useEffect(() => {
    if (typed === filters.words) return;
    const timer = setTimeout(() => onFilters({ ...filters, words: typed }), PAUSE_ms);
    return () => clearTimeout(timer);
  }, [typed, filters, onFilters]);
  return (
    <div class="filters" role="search" aria-label="Messages">
      <input
        type="search"
        placeholder="message, field, value, frame:63"
        aria-label="Search the messages"
        value={typed}
        onInput={(event) => setTyped(event.currentTarget.value)}
      />
      {TICKS.map(({ name, says }) => (
        <label key={name}>
          <input
            type="checkbox"
            checked={filters[name]}
            onChange={(event) => onFilters({ ...filters, [name]: event.currentTarget.checked })}
          />
          {says}
        </label>
      ))}
    </div>
  );
}
