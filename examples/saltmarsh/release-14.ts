// Meant to end the aborts at one charger: closes without looking at its own voltmeter again.
import { shuttle } from './shuttle.ts';

export const vehicle = shuttle({ preCharge_ms: 5000, looksAtGate: false, checksForWelds: true });
