/** UDP port of the GigE Vision control protocol; the standard fixes it. */
export const gvcpPort = 3956;

/** Commands of the control protocol; the answer to each is the next number. */
export const gvcpCommands = {
  discovery: 0x0002,
  packetResend: 0x0040,
  readRegister: 0x0080,
  writeRegister: 0x0082,
  readMemory: 0x0084,
  writeMemory: 0x0086,
} as const;

/** What an answer says of the command. */
export const gvcpStatus = {
  success: 0x0000,
  notImplemented: 0x8001,
  invalidParameter: 0x8002,
  invalidAddress: 0x8003,
  writeProtected: 0x8004,
  badAlignment: 0x8005,
  accessDenied: 0x8006,
} as const;

export type GvcpStatus = (typeof gvcpStatus)[keyof typeof gvcpStatus];

/** One command as it came. */
export interface GvcpCommand {
  command: number;
  requestId: number;
  wantsAnswer: boolean;
  body: Buffer;
}

const commandKey = 0x42;
const headerBytes = 8;
/** Most bytes of one memory command. */
export const memoryBytesMax = 536;

/** Reads a command packet; null for anything else that arrives on the port. */
export function readGvcpCommand(packet: Buffer): GvcpCommand | null {
  if (packet.length < headerBytes || packet[0] !== commandKey) return null;
  const bodyBytes = packet.readUInt16BE(4);
  if (packet.length < headerBytes + bodyBytes) return null;
  return {
    command: packet.readUInt16BE(2),
    requestId: packet.readUInt16BE(6),
    wantsAnswer: (packet[1]! & 1) === 1,
    body: packet.subarray(headerBytes, headerBytes + bodyBytes),
  };
}

/** The answer to a command. */
export function gvcpAnswer(
  { command, requestId }: Pick<GvcpCommand, 'command' | 'requestId'>,
  status: GvcpStatus,
  body: Buffer = Buffer.alloc(0),
): Buffer {
  const packet = Buffer.alloc(headerBytes + body.length);
  packet.writeUInt16BE(status, 0);
  packet.writeUInt16BE(command + 1, 2);
  packet.writeUInt16BE(body.length, 4);
  packet.writeUInt16BE(requestId, 6);
  body.copy(packet, headerBytes);
  return packet;
}

/** A command packet, as a client sends it. */
export function gvcpCommand(command: number, requestId: number, body: Buffer = Buffer.alloc(0)): Buffer {
  const packet = Buffer.alloc(headerBytes + body.length);
  packet[0] = commandKey;
  packet[1] = 1;
  packet.writeUInt16BE(command, 2);
  packet.writeUInt16BE(body.length, 4);
  packet.writeUInt16BE(requestId, 6);
  body.copy(packet, headerBytes);
  return packet;
}
