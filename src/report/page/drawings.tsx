// State drawings of the machines. As images they are inert, whatever their text says.
import type { ReportData } from '../report-data.ts';

export function Drawings({ drawings }: Pick<ReportData, 'drawings'>) {
  if (drawings.length === 0) return null;
  return (
    <section class="sheet" aria-labelledby="drawings">
      <h2 id="drawings">Machines</h2>
      {drawings.map(({ title, svg }) => (
        <figure key={title} class="drawing">
          <figcaption>{title}</figcaption>
          <div class="drawing-room" tabIndex={0} role="group" aria-label={title}>
            <img alt={title} src={`data:image/svg+xml,${encodeURIComponent(svg)}`} />
          </div>
        </figure>
      ))}
    </section>
  );
}
