import { aravisCalls } from './calls.js';

/** A camera that answers a discovery. */
export interface ReachableCamera {
  /** What opens it, as `genicam:ADDRESS`. */
  address: string;
  id: string;
  vendor: string;
  model: string;
  serialNumber: string;
  /** GigEVision or USB3Vision. */
  protocol: string;
}

/** Asks the network and the USB ports for cameras; takes about a second. Throws `device-library-missing`. */
export async function listGenicamCameras(): Promise<ReachableCamera[]> {
  const { list } = await aravisCalls();
  await list.update.later();
  return Array.from({ length: list.count() }, (_, i) => {
    const id = list.id(i) ?? '';
    const serialNumber = list.serial(i) ?? '';
    const ip = list.address(i) ?? '';
    return {
      address: `genicam:${ip || serialNumber || id}`,
      id,
      vendor: list.vendor(i) ?? '',
      model: list.model(i) ?? '',
      serialNumber,
      protocol: list.protocol(i) ?? '',
    };
  }).filter(({ id }) => id !== '');
}
