import { vehicleMachine } from '../system-c/vehicle.ts';
import { iso15118_2 } from './protocol.ts';

export const vehicle = vehicleMachine(iso15118_2);
