import { createSocket, type RemoteInfo, type Socket } from 'node:dgram';
import { networkInterfaces } from 'node:os';
import { FocuswrightError, systemReason } from '../../base/index.js';
import { gvcpCommand, gvcpCommands, gvcpPort } from './gvcp.js';

const discoveryAttempts = 20;
const discoveryWaitMs = 100;
const serialAddress = 0xd8;

/** The sockets on which a camera hears clients. */
export interface ControlSockets {
  close(): void;
}

/**
 * Binds the control port of one address, and the broadcast addresses on which clients look for cameras.
 *
 * Throws   `gige-address-unusable` for an address that is not one of this machine's, `gige-port-in-use`.
 */
export async function openControlSockets(
  host: string,
  answer: (packet: Buffer, from: RemoteInfo) => Buffer | null,
): Promise<ControlSockets> {
  const main = createSocket('udp4');
  await bound(main, host);
  const broadcast = await Promise.all(
    ['255.255.255.255', broadcastOf(host)].map(async (address) => {
      const socket = createSocket({ type: 'udp4', reuseAddr: true });
      // Without it the camera is found by its address only, which is what matters.
      return bound(socket, address).then(
        () => socket,
        () => null,
      );
    }),
  );
  const sockets = [main, ...broadcast.filter((socket) => socket !== null)];
  for (const socket of sockets) {
    socket.on('message', (packet, from) => {
      const reply = answer(packet, from);
      if (reply) main.send(reply, from.port, from.address);
    });
    socket.on('error', () => {});
  }
  return {
    close() {
      for (const socket of sockets) socket.close();
    },
  };
}

function bound(socket: Socket, host: string): Promise<void> {
  return new Promise((resolve, reject) => {
    socket.once('error', (error: NodeJS.ErrnoException) => {
      socket.close();
      reject(
        error.code === 'EADDRINUSE'
          ? new FocuswrightError('gige-port-in-use', { address: host, port: gvcpPort }, { cause: error })
          : new FocuswrightError(
              'gige-address-unusable',
              { address: host, reason: systemReason(error) },
              { cause: error },
            ),
      );
    });
    socket.bind({ address: host, port: gvcpPort, exclusive: true }, () => {
      socket.removeAllListeners('error');
      resolve();
    });
  });
}

/** Broadcast address of the network to which an address of this machine belongs. */
function broadcastOf(host: string): string {
  if (host.startsWith('127.')) return '127.255.255.255';
  const own = Object.values(networkInterfaces())
    .flatMap((list) => list ?? [])
    .find(({ address }) => address === host);
  if (!own) return '255.255.255.255';
  const mask = own.netmask.split('.').map(Number);
  return host
    .split('.')
    .map((part, i) => Number(part) | (~mask[i]! & 255))
    .join('.');
}

/** Whether a camera with this serial number answers a discovery at an address, as any client would ask. */
export async function isDiscoverable(host: string, serialNumber: string): Promise<boolean> {
  const socket = createSocket('udp4');
  try {
    return await new Promise<boolean>((resolve) => {
      let attempts = 0;
      const ask = () => {
        if (attempts++ === discoveryAttempts) return resolve(false);
        socket.send(gvcpCommand(gvcpCommands.discovery, attempts), gvcpPort, host);
      };
      const timer = setInterval(ask, discoveryWaitMs);
      socket.on('message', (packet) => {
        const serial = packet.toString('latin1', 8 + serialAddress, 8 + serialAddress + 16).replace(/\0.*$/s, '');
        if (serial === serialNumber) resolve(true);
      });
      socket.on('error', () => resolve(false));
      socket.once('close', () => clearInterval(timer));
      ask();
    });
  } finally {
    socket.close();
  }
}
