import { bootstrap } from './bootstrap-registers.js';
import type { Feature, StandardRegister } from './features.js';
import { readNumber } from './make-feature.js';

const category = 'TransportLayerControl';

const register = (
  name: string,
  address: number,
  help: string,
  rest: Partial<StandardRegister> & { unit?: string } = {},
): Feature => ({
  kind: 'standard',
  category,
  name,
  help,
  address,
  visibility: 'Expert',
  access: 'RW',
  byteCount: 4,
  ...rest,
});

/** The features of the standard's own registers, and the size of a frame. */
export const transportFeatures: Feature[] = [
  readNumber(category, 'PayloadSize', {
    kind: 'integer',
    help: 'Bytes of one frame.',
    min: 1,
    max: 2 ** 31,
    unit: 'B',
    start: 1,
  }),
  register('GevSCPSPacketSize', bootstrap.streamPacketSize, 'Bytes of a packet with its IP and UDP headers.', {
    bits: [16, 31],
    unit: 'B',
  }),
  register('GevSCPSDoNotFragment', bootstrap.streamPacketSize, '1: packets are not split on their way.', {
    bits: [1, 1],
  }),
  register('GevSCPSFireTestPacket', bootstrap.streamPacketSize, 'Writing 1 sends one packet of the size set.', {
    bits: [0, 0],
  }),
  register('GevHeartbeatTimeout', bootstrap.heartbeatTimeout, 'Silence after which the camera drops a client.', {
    unit: 'ms',
  }),
  register('GevTimestampTickFrequency', bootstrap.tickFrequency, 'Ticks a second of the time stamps.', {
    access: 'RO',
    byteCount: 8,
    unit: 'Hz',
  }),
  register('GevTimestampControlLatch', bootstrap.timestampControl, 'Latches the time into GevTimestampValue.', {
    commandValue: 2,
  }),
  register('GevTimestampValue', bootstrap.timestampLatched, 'The latched time, in ticks.', {
    access: 'RO',
    byteCount: 8,
  }),
];
