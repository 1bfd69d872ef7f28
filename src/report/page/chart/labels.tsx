// What the lines and bands of the chart are, and what they come to at the cursor.
import { figure } from '../../figures.ts';
import { wordAt, type Lane } from './lanes.ts';
import type { Line, Panel } from './panels.ts';
import { firstAfter } from './reduce.ts';

export function LaneLabels({ lanes, at }: { lanes: Lane[]; at: number | null }) {
  return (
    <ul class="labels lane-labels">
      {lanes.map((lane) => (
        <li key={lane.name} class={lane.side === null ? undefined : `of-${lane.side}`}>
          <span class="label-name">{lane.says}</span>
          {at !== null && <span class="label-value">{wordAt(lane, at) ?? ''}</span>}
        </li>
      ))}
    </ul>
  );
}

export function PanelLabels({ panel, at }: { panel: Panel; at: number | null }) {
  const index = at === null ? -1 : firstAfter(panel.at, at + 1e-9) - 1;
  return (
    <div class="labels">
      <h3>
        {panel.title}, {panel.unit}
      </h3>
      <ul>
        {panel.lines.map((line) => (
          <li key={line.name}>
            <Sample line={line} />
            <span class="label-name">{line.says}</span>
            {at !== null && (
              <span class="label-value number">{valueWords(line, index, panel)}</span>
            )}
          </li>
        ))}
      </ul>
    </div>
  );
}

function valueWords(line: Line, index: number, { unit }: Panel): string {
  const value = index < 0 ? null : line.values[index];
  return value === null || value === undefined ? '–' : `${figure(value)} ${unit}`;
}

/** The line as it is drawn. */
function Sample({ line: { stroke, dash } }: { line: Line }) {
  const side = stroke.split(' ')[0]!;
  return (
    <svg class={`sample of-${side}`} width="26" height="8" aria-hidden="true">
      <line
        x1="0"
        x2="26"
        y1="4"
        y2="4"
        stroke="currentColor"
        stroke-width={stroke === 'charger' ? 2.4 : stroke === 'measured' ? 1.2 : 1.8}
        stroke-dasharray={dash.join(' ')}
      />
    </svg>
  );
}
