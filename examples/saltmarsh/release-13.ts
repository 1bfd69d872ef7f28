// Gives up sooner in pre-charge, and checks for welded contactors before it ends a session.
import { shuttle } from './shuttle.ts';

export const vehicle = shuttle({ preCharge_ms: 5000, looksAtGate: true, checksForWelds: true });
