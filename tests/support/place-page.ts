// Benchmarks and screenshots run translated, in a folder of their own, where the report's page is not built.
import { copyFileSync } from 'node:fs';
import { join } from 'node:path';

/** Puts the page that `npm run build` left beside the translated program. */
export function placeBuiltPage(): void {
  copyFileSync(
    'dist/src/report/page.html',
    join(import.meta.dirname, '../../src/report/page.html'),
  );
}
