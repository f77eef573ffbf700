import { FocuswrightError } from '../../base/index.js';
import { bootstrapRegisters, type StreamTarget } from './bootstrap-registers.js';
import { cameraDescription } from './camera-description.js';
import { controlChannel, type ResendRequest } from './control-channel.js';
import { isDiscoverable, openControlSockets } from './control-sockets.js';
import { type FeatureRegisters, type FeatureValue, featureRegisters, type OutOfRange } from './feature-registers.js';
import type { Feature } from './features.js';
import { sendTestPacket } from './frame-sender.js';
import { packetOverheadBytes } from './gvsp.js';

/** A camera that clients find and control. Its frames are sent by a FrameSender. */
export interface ServedCamera {
  readonly registers: FeatureRegisters;
  /** Where the client wants its frames. */
  streamTarget(): StreamTarget;
  /** From now on nothing is answered, as when the cable is pulled. */
  unplug(): void;
  close(): void;
}

const descriptionAddress = 0x100000;
const ownAddress = 0x10000;
const heartbeatCheckMs = 250;
/** Loopback carries jumbo packets; elsewhere what every network carries. */
const packetByteCountOf = (host: string) => (host.startsWith('127.') ? 9000 : 1500);

/**
 * Serves a camera by the GigE Vision control protocol at one address of this machine.
 *
 * Model    docs/twin/on-the-wire.md
 * Input    `onWrite` is told of each feature that a client writes, and may refuse; `onControlLost`, when its client has gone.
 * Returns  once the camera answers a discovery under its own serial number.
 * Throws   `gige-port-in-use`, `gige-address-unusable`.
 */
export async function serveCamera({
  host,
  features,
  outOfRange,
  resends,
  nowNs,
  onWrite,
  onRead,
  onResend,
  onControlLost,
}: {
  host: string;
  features: readonly Feature[];
  outOfRange: OutOfRange;
  resends: boolean;
  nowNs: () => bigint;
  onWrite: (name: string, value: FeatureValue) => FeatureValue;
  onRead: (name: string) => void;
  onResend: (request: ResendRequest) => void;
  onControlLost: () => void;
}): Promise<ServedCamera> {
  const registers = featureRegisters({ features, firstAddress: ownAddress, outOfRange, onWrite, onRead });
  const text = (name: string) => String(registers.value(name));
  const identity = {
    vendorName: text('DeviceVendorName'),
    modelName: text('DeviceModelName'),
    deviceVersion: text('DeviceVersion'),
    manufacturerInfo: text('DeviceManufacturerInfo'),
    serialNumber: text('DeviceSerialNumber'),
  };
  const xml = Buffer.from(cameraDescription({ identity, features, addressOf: registers.addressOf }), 'utf8');
  const description = Buffer.alloc(4 * Math.ceil(xml.length / 4));
  xml.copy(description);
  const standard = bootstrapRegisters({
    identity,
    host,
    xmlUrl: `Local:focuswright.xml;${descriptionAddress.toString(16)};${xml.length.toString(16)}`,
    packetByteCount: packetByteCountOf(host),
    resends,
    nowNs,
    onTestPacket: (target) => {
      if (target.port !== 0 && target.packetByteCount > packetOverheadBytes) void sendTestPacket(host, target);
    },
  });
  const channel = controlChannel({
    standard,
    own: {
      read: (address, byteCount) =>
        address >= descriptionAddress
          ? address + byteCount <= descriptionAddress + description.length
            ? description.subarray(address - descriptionAddress, address - descriptionAddress + byteCount)
            : null
          : registers.read(address, byteCount),
      write: registers.write,
    },
    nowMs: () => Number(nowNs() / 1_000_000n),
    onResend,
    onControlLost,
  });
  let isPlugged = true;
  const sockets = await openControlSockets(host, (packet, from) => (isPlugged ? channel.answer(packet, from) : null));
  // After what has come meanwhile: a client is not silent because this process was kept from listening.
  const watch = setInterval(() => setImmediate(channel.dropSilentClient), heartbeatCheckMs);
  const close = () => {
    clearInterval(watch);
    sockets.close();
  };
  if (!(await isDiscoverable(host, identity.serialNumber))) {
    close();
    throw new FocuswrightError('gige-address-unusable', { address: host, reason: 'no answer to a discovery' });
  }
  return {
    registers,
    streamTarget: standard.streamTarget,
    unplug() {
      isPlugged = false;
    },
    close,
  };
}
