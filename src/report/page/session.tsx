// One session: verdict, findings, rules, time chart, sequence, and what was not observed.
import { useCallback, useMemo, useRef, useState } from 'preact/hooks';
import type { SessionResult } from '../../rules/result.ts';
import { sentence } from '../figures.ts';
import type { ReportData } from '../report-data.ts';
import type { Span } from './chart/board.ts';
import { TimeChart } from './chart/time-chart.tsx';
import type { ChartHandle } from './chart/use-chart.ts';
import { SessionFacts } from './facts.tsx';
import { Findings } from './findings.tsx';
import { Log } from './log.ts';
import { Mark } from './marks.tsx';
import { verdictOf, type Pick } from './picker.tsx';
import { readTimeline } from './read.ts';
import { Rules } from './rules.tsx';
import { Sequence, type SequenceHandle } from './sequence/sequence.tsx';

interface SessionProps {
  pick: Pick;
  report: ReportData;
  /** It is the only one: its verdict is the report's. */
  alone: boolean;
}

export function SessionView({ pick, report, alone }: SessionProps) {
  const { session, file } = pick;
  const verdict = verdictOf(pick);
  return (
    <article class="session" aria-label={`Session ${session?.id ?? ''} of ${file.file}`}>
      <section class="sheet headline" id={alone ? 'verdict' : undefined}>
        <h1>
          {file.file}
          {session !== null && <span class="quiet">, session {session.id}</span>}
        </h1>
        <p class={`verdict is-${verdict}`}>
          <Mark verdict={verdict} size={30} />
          <span>
            <strong>{verdict}</strong>: {pick.says}
          </span>
        </p>
        <Reasons verdict={verdict} reasons={session?.reasons ?? file.reasons} />
        {session !== null && <SessionFacts file={file} session={session} />}
      </section>
      {session !== null && <SessionBody pick={pick} session={session} report={report} />}
      {session !== null && file.reasons.length > 0 && (
        <section class="sheet" aria-labelledby="recording">
          <h2 id="recording">The recording</h2>
          <ul>
            {file.reasons.map((reason) => (
              <li key={reason}>{sentence(reason)}</li>
            ))}
          </ul>
        </section>
      )}
    </article>
  );
}

/** A broken session is told by its findings; of another the first reason is its verdict. */
function Reasons({ verdict, reasons }: { verdict: string; reasons: string[] }) {
  const more = verdict === 'broken' ? [] : reasons.slice(1);
  if (more.length === 0) return null;
  return (
    <ul class="reasons">
      {more.map((reason) => (
        <li key={reason}>{sentence(reason)}</li>
      ))}
    </ul>
  );
}

function SessionBody({ pick, session, report }: BodyProps) {
  const log = useMemo(() => {
    const packed = pick.timeline ? readTimeline(pick.fileIndex, pick.sessionIndex) : null;
    return packed === null ? null : new Log(packed, session.protocol);
  }, [pick, session]);
  const [row, setRow] = useState<number | null>(null);
  const [span, setSpan] = useState<Span | null>(null);
  const chart = useRef<ChartHandle | null>(null);
  const sequence = useRef<SequenceHandle | null>(null);
  /** Selected in the sequence: the chart moves there. */
  const fromSequence = useCallback((at: number | null) => {
    setRow(at);
    if (at !== null) chart.current?.show(at);
  }, []);
  /** Selected in the chart: the sequence moves there. */
  const fromChart = useCallback((at: number, focus: boolean) => {
    setRow(at);
    sequence.current?.show(at, focus);
  }, []);
  const showBoth = useCallback(
    (place: { frame: number | null; at: number }) => {
      if (log === null) return;
      const at = log.rowOf(place);
      setRow(at);
      chart.current?.show(at);
      sequence.current?.show(at, false);
      document.getElementById('chart')?.scrollIntoView({ block: 'start' });
    },
    [log],
  );
  const onShow = log === null ? null : showBoth;
  return (
    <>
      <Findings session={session} onShow={onShow} />
      <Rules
        rules={session.rules}
        told={report.rules}
        findings={session.findings}
        onShow={onShow}
      />
      {log !== null && (
        <TimeChart
          log={log}
          session={session}
          row={row}
          onRow={fromChart}
          onSpan={setSpan}
          handle={chart}
        />
      )}
      {log !== null && (
        <Sequence
          log={log}
          session={session}
          row={row}
          onRow={fromSequence}
          handle={sequence}
          span={span}
        />
      )}
      <Unobserved session={session} />
    </>
  );
}

interface BodyProps {
  pick: Pick;
  session: SessionResult;
  report: ReportData;
}

function Unobserved({ session }: { session: SessionResult }) {
  const { notObserved } = session.summary;
  if (notObserved.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="unobserved">
      <h2 id="unobserved">Not observed</h2>
      <dl class="pairs">
        {notObserved.map(({ what, needs }) => (
          <div key={what}>
            <dt>{what}</dt>
            <dd>needs {needs}</dd>
          </div>
        ))}
      </dl>
    </section>
  );
}
