import { createSocket, type Socket } from 'node:dgram';
import { setTimeout as wait } from 'node:timers/promises';
import type { Random } from '../../base/index.js';
import type { StreamTarget } from './bootstrap-registers.js';
import type { ResendRequest } from './control-channel.js';
import { type FramePackets, framePackets, type WireFrame } from './gvsp.js';

/** What goes wrong between camera and client. */
export interface WireFaults {
  /** Share of packets that never arrive, those sent again included. */
  packetLossRatio: number;
  /** Share of packets before which the camera rests, as a machine with other work to do makes it. */
  packetsStalledRatio: number;
  /** Share of packets that arrive after later ones of their frame. */
  packetsSwappedRatio: number;
  /** Share of frames that arrive after the next one. */
  framesSwappedRatio: number;
}

export const noWireFaults: WireFaults = {
  packetLossRatio: 0,
  packetsStalledRatio: 0,
  packetsSwappedRatio: 0,
  framesSwappedRatio: 0,
};

/** Sends frames to the client that takes the stream. */
export interface FrameSender {
  send(frame: WireFrame): Promise<void>;
  resend(request: ResendRequest): void;
  close(): void;
}

/** Frames kept so that lost packets can be sent again. */
const keptFrames = 8;
/** Packets sent before the thread looks for messages. */
const packetsAtOnce = 128;
/** A frame held back goes out after this time, when no other comes. */
const heldMs = 150;
/** A rest before a packet: longer than clients usually wait for the missing part of a frame. */
const stallMs = 150;
const sendBufferBytes = 4 << 20;

/** Opens a stream to a target. `random` draws what is lost. */
export async function openFrameSender({
  host,
  target,
  faults,
  random,
}: {
  host: string;
  target: StreamTarget;
  faults: WireFaults;
  random: Random;
}): Promise<FrameSender> {
  const socket = await connected(host, target);
  const kept: FramePackets[] = [];
  const loss = random.fork('packet-loss');
  const stalls = random.fork('packet-stalls');
  const order = random.fork('packet-order');
  const frameOrder = random.fork('frame-order');
  let held: FramePackets | null = null;
  let isOpen = true;

  function sendPacket(packets: FramePackets, index: number): void {
    if (!isOpen || (faults.packetLossRatio > 0 && loss.uniform() < faults.packetLossRatio)) return;
    socket.send(packets.packet(index));
  }

  async function sendAll(packets: FramePackets): Promise<void> {
    let late: number | null = null;
    for (let index = 0; index < packets.count; index++) {
      if (index > 0 && index % packetsAtOnce === 0) await new Promise((resolve) => setImmediate(resolve));
      if (faults.packetsStalledRatio > 0 && stalls.uniform() < faults.packetsStalledRatio) await wait(stallMs);
      if (late === null && faults.packetsSwappedRatio > 0 && order.uniform() < faults.packetsSwappedRatio) {
        late = index;
        continue;
      }
      sendPacket(packets, index);
      if (late !== null) {
        sendPacket(packets, late);
        late = null;
      }
    }
    if (late !== null) sendPacket(packets, late);
  }

  async function sendHeld(): Promise<void> {
    const waiting = held;
    held = null;
    if (waiting) await sendAll(waiting);
  }

  return {
    async send(frame) {
      const packets = framePackets(frame, target.packetByteCount);
      kept.push(packets);
      if (kept.length > keptFrames) kept.shift();
      if (held === null && faults.framesSwappedRatio > 0 && frameOrder.uniform() < faults.framesSwappedRatio) {
        held = packets;
        void wait(heldMs).then(() => (held === packets ? sendHeld() : undefined));
        return;
      }
      await sendAll(packets);
      await sendHeld();
    },
    resend({ blockId, firstPacketId, lastPacketId }) {
      const packets = kept.find((frame) => frame.blockId === blockId);
      if (!packets) return;
      const last = Math.min(lastPacketId, packets.count - 1);
      for (let index = firstPacketId; index <= last; index++) sendPacket(packets, index);
    },
    close() {
      isOpen = false;
      socket.close();
    },
  };
}

/** Sends one packet of the size that a client tries. */
export async function sendTestPacket(host: string, target: StreamTarget): Promise<void> {
  const socket = await connected(host, target);
  await new Promise<void>((resolve) => socket.send(Buffer.alloc(target.packetByteCount - 28), () => resolve()));
  socket.close();
}

function connected(host: string, { host: toHost, port }: StreamTarget): Promise<Socket> {
  const socket = createSocket({ type: 'udp4', sendBufferSize: sendBufferBytes });
  // A client that has gone refuses packets; its heartbeat ends the stream.
  socket.on('error', () => {});
  return new Promise((resolve) => {
    socket.bind({ address: host }, () => socket.connect(port, toHost, () => resolve(socket)));
  });
}
