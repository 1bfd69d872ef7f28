import { chargerMachine } from '../system-c/charger.ts';
import { iso15118_2 } from './protocol.ts';

export const charger = chargerMachine(iso15118_2);
