/** Frames as packets of the GigE Vision streaming protocol. */

const headerBytes = 8;
/** Headers of IP and UDP and of the protocol itself. */
export const packetOverheadBytes = 20 + 8 + headerBytes;

const formats = { leader: 1, trailer: 2, payload: 3 } as const;
const payloadTypeImage = 1;

/** Pixel formats by their numbers in the standard (PFNC). */
export const pixelFormatCodes = {
  Mono8: 0x0108_0001,
  Mono10: 0x0110_0003,
  Mono12: 0x0110_0005,
} as const;

export type PixelFormat = keyof typeof pixelFormatCodes;

/** A frame as it goes over the wire. */
export interface WireFrame {
  /** 1 … 65535. */
  blockId: number;
  timestampNs: bigint;
  pixelFormat: PixelFormat;
  xPx: number;
  yPx: number;
  widthPx: number;
  heightPx: number;
  /** Rows without padding; 10 and 12 bit as 16-bit words, low byte first. */
  data: Uint8Array;
}

/** The packets of one frame, made once and kept, so that they can be sent again. */
export interface FramePackets {
  readonly blockId: number;
  readonly count: number;
  /** Packet 0 is the leader, the last one the trailer. */
  packet(index: number): Buffer;
}

/** Cuts a frame into packets of `packetByteCount`, the headers of IP and UDP included. */
export function framePackets(frame: WireFrame, packetByteCount: number): FramePackets {
  const chunkBytes = packetByteCount - packetOverheadBytes;
  const payloadCount = Math.ceil(frame.data.length / chunkBytes);
  const strideBytes = headerBytes + chunkBytes;
  const payload = Buffer.allocUnsafe(payloadCount * headerBytes + frame.data.length);
  for (let i = 0; i < payloadCount; i++) {
    writeHeader(payload, i * strideBytes, frame.blockId, formats.payload, i + 1);
    payload.set(frame.data.subarray(i * chunkBytes, (i + 1) * chunkBytes), i * strideBytes + headerBytes);
  }
  const leader = leaderOf(frame);
  const trailer = trailerOf(frame, payloadCount + 1);
  return {
    blockId: frame.blockId,
    count: payloadCount + 2,
    packet(index) {
      if (index === 0) return leader;
      if (index === payloadCount + 1) return trailer;
      return payload.subarray((index - 1) * strideBytes, index * strideBytes);
    },
  };
}

function writeHeader(into: Buffer, at: number, blockId: number, format: number, packetId: number): void {
  into.writeUInt16BE(0, at);
  into.writeUInt16BE(blockId, at + 2);
  into.writeUInt32BE(((format << 24) | packetId) >>> 0, at + 4);
}

function leaderOf({ blockId, timestampNs, pixelFormat, xPx, yPx, widthPx, heightPx }: WireFrame): Buffer {
  const leader = Buffer.alloc(headerBytes + 36);
  writeHeader(leader, 0, blockId, formats.leader, 0);
  leader.writeUInt16BE(payloadTypeImage, 10);
  leader.writeBigUInt64BE(timestampNs, 12);
  [pixelFormatCodes[pixelFormat], widthPx, heightPx, xPx, yPx].forEach((value, i) => {
    leader.writeUInt32BE(value, 20 + 4 * i);
  });
  return leader;
}

function trailerOf({ blockId, heightPx }: WireFrame, packetId: number): Buffer {
  const trailer = Buffer.alloc(headerBytes + 8);
  writeHeader(trailer, 0, blockId, formats.trailer, packetId);
  trailer.writeUInt16BE(payloadTypeImage, 10);
  trailer.writeUInt32BE(heightPx, 12);
  return trailer;
}
