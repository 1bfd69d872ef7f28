// Two hands as two rings: joined where it holds, apart where it broke. The shape says it without colour.
import type { RuleVerdict, Verdict } from '../../rules/result.ts';

type Kind = 'joined' | 'apart' | 'open' | 'rough' | 'idle';

const KIND: Record<Verdict | RuleVerdict, Kind> = {
  holds: 'joined',
  broken: 'apart',
  inconclusive: 'open',
  'not observed': 'open',
  unreadable: 'open',
  suspected: 'rough',
  vacuous: 'idle',
};

function kindOf(verdict: string): Kind {
  return KIND[verdict as Verdict] ?? 'idle';
}

export function Mark({ verdict, size = 18 }: { verdict: string; size?: number }) {
  const kind = kindOf(verdict);
  const gap = kind === 'joined' ? 4.2 : kind === 'apart' ? 7.2 : 5.6;
  const dash = kind === 'open' ? '2.2 2.2' : kind === 'idle' ? '0.6 2.4' : undefined;
  return (
    <svg
      class={`mark mark-${kind}`}
      width={size * 1.4}
      height={size}
      viewBox="-14 -10 28 20"
      aria-hidden="true"
    >
      <circle cx={-gap} cy="0" r="6" fill="none" stroke-width="2.4" />
      <circle cx={gap} cy="0" r="6" fill="none" stroke-width="2.4" stroke-dasharray={dash} />
      {kind === 'apart' && <path d="M -3.4 9 L 3.4 -9" stroke-width="2.4" />}
      {kind === 'rough' && <path d="M -4 0 q 2 -3 4 0 t 4 0" fill="none" stroke-width="2" />}
    </svg>
  );
}

/** The verdict as shape and word. */
export function VerdictWord({ verdict }: { verdict: string }) {
  return (
    <span class={`verdict-word is-${kindOf(verdict)}`}>
      <Mark verdict={verdict} size={14} />
      {verdict}
    </span>
  );
}
