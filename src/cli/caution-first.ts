import { connectionCautions, type Station } from '../station/index.js';

/** Writes the cautions to standard error before a real camera is opened and its lens moves. */
export function cautionFirst(cameraAddress: string, station: Station | null): void {
  if (!cameraAddress.startsWith('genicam:')) return;
  for (const caution of connectionCautions(station)) process.stderr.write(`Caution: ${caution}\n`);
}
