// What the shuttles run today.
import { shuttle } from './shuttle.ts';

export const vehicle = shuttle({ preCharge_ms: 7000, looksAtGate: true, checksForWelds: false });
