import { vehicleMachine } from '../system-c/vehicle.ts';
import { din70121 } from './protocol.ts';

export const vehicle = vehicleMachine(din70121);
