// The whole report: what was read and what it came to, a picker where there is more than one session, and the session
// picked.
import { useMemo, useState } from 'preact/hooks';
import type { ReportData } from '../report-data.ts';
import { Drawings } from './drawings.tsx';
import { Mark } from './marks.tsx';
import { Picker, picksOf } from './picker.tsx';
import { ProofView } from './proof.tsx';
import { SessionView } from './session.tsx';
import { ThemeToggle } from './theme.tsx';

export function App({ report }: { report: ReportData }) {
  const picks = useMemo(() => picksOf(report), [report]);
  const [picked, setPicked] = useState(0);
  const pick = picks[picked];
  const many = picks.length > 1;
  const { verdict } = report.proof ?? report.result;
  return (
    <>
      <a class="skip" href="#verdict">
        To the verdict
      </a>
      <header class="masthead">
        <span class="brand">
          <Mark verdict="holds" size={20} /> handfast
        </span>
        <span class="title">{report.title}</span>
        <ThemeToggle />
      </header>
      <div class={many ? 'frame with-picker' : 'frame'}>
        {many && <Picker picks={picks} picked={picked} onPick={setPicked} />}
        <main>
          {(picks.length !== 1 || report.proof !== null) && (
            <section class={`banner is-${verdict}`} id="verdict" aria-label="Verdict on everything">
              <Mark verdict={verdict} size={26} />
              <p>
                <strong>{verdict}</strong>: {report.says}
              </p>
            </section>
          )}
          {report.proof !== null && <ProofView proof={report.proof} />}
          {pick !== undefined && (
            <SessionView key={picked} pick={pick} report={report} alone={!many} />
          )}
          <Drawings drawings={report.drawings} />
          <Colophon report={report} />
        </main>
      </div>
    </>
  );
}

function Colophon({ report }: { report: ReportData }) {
  return (
    <footer class="colophon">
      {report.again !== null && (
        <p>
          To see it again: <code>{report.again}</code>
        </p>
      )}
      <p>
        {report.identities
          ? 'Identifiers of vehicles, contracts and sessions are shown as recorded. '
          : 'Identifiers of vehicles, contracts and sessions have other names here, the same throughout. '}
        Network keys, certificates’ private parts and secrets are never shown.
      </p>
      <p>
        High-voltage d.c. kills, and a software check is no interlock. <em>Holds</em> is evidence
        about a recording or a model, never a clearance to energise.
      </p>
    </footer>
  );
}
