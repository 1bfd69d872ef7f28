import { chargerMachine } from '../system-c/charger.ts';
import { din70121 } from './protocol.ts';

export const charger = chargerMachine(din70121);
