// What meters read, as one text: equal where no reading has changed by anything that matters.
import type { Sight } from '../../simulate/side.ts';

export function valuesOf(sights: readonly Sight[]): string {
  let key = '';
  for (const sight of sights) {
    if (sight.kind === 'voltage') key += `${sight.place}${sight.voltage_V.toFixed(1)}`;
    else if (sight.kind === 'current') key += `I${sight.current_A.toFixed(1)}`;
    else if (sight.kind === 'cells') key += `C${sight.highest_V}`;
    else if (sight.kind === 'isolation') key += `R${sight.resistance_ohm.toFixed(0)}`;
  }
  return key;
}
