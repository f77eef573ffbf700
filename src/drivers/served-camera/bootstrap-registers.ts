import { type GvcpStatus, gvcpStatus } from './gvcp.js';

/** Who the served camera says it is. */
export interface ServedIdentity {
  vendorName: string;
  modelName: string;
  deviceVersion: string;
  manufacturerInfo: string;
  /** At most 15 characters. */
  serialNumber: string;
}

/** Where frames go, and in packets of what size. */
export interface StreamTarget {
  host: string;
  port: number;
  /** Whole packet with the headers of IP and UDP. */
  packetByteCount: number;
}

/** Addresses of the registers that every GigE Vision camera has. */
export const bootstrap = {
  currentIp: 0x0024,
  userName: 0x00e8,
  heartbeatTimeout: 0x0938,
  tickFrequency: 0x093c,
  timestampControl: 0x0944,
  timestampLatched: 0x0948,
  controlPrivilege: 0x0a00,
  primaryPort: 0x0a04,
  primaryIp: 0x0a14,
  streamPort: 0x0d00,
  streamPacketSize: 0x0d04,
  streamDestination: 0x0d18,
} as const;

const areaBytes = 0xa000;
const discoveryBytes = 0xf8;
const writable: ReadonlySet<number> = new Set([
  bootstrap.heartbeatTimeout,
  bootstrap.timestampControl,
  0x0954, // configuration of the control protocol
  0x0a10, // switchover key
  0x0b00, // message channel: port, destination, timeout, retries
  0x0b10,
  0x0b14,
  0x0b18,
  bootstrap.streamPort,
  bootstrap.streamPacketSize,
  bootstrap.streamDestination,
]);
/** One tick is a nanosecond. */
const ticksPerSecond = 1_000_000_000;
export const packetByteCountMin = 576;
export const packetByteCountMax = 16_384;
const fireTestPacket = 0x80000000;
const latch = 2;

/** The registers that every GigE Vision camera has, below address 0xA000. */
export interface BootstrapRegisters {
  readonly endAddress: number;
  /** The first registers, as they stand in the answer to a discovery. */
  discoveryBlock(): Buffer;
  read(address: number, byteCount: number): Buffer;
  write(address: number, data: Buffer): GvcpStatus;
  heartbeatTimeoutMs(): number;
  setPrivilege(privilege: number, holder: { host: string; port: number } | null): void;
  streamTarget(): StreamTarget;
}

/**
 * Input    `xmlUrl`: where the description of the features lies; `resends`: whether lost packets can be asked for again;
 *          `nowNs`: the camera's clock; `onTestPacket` is told when a client tries a packet size.
 * Source   register addresses as in Aravis 0.8 (`arvgvcpprivate.h`) and the public dissector of Wireshark
 */
export function bootstrapRegisters({
  identity,
  host,
  xmlUrl,
  packetByteCount,
  resends,
  nowNs,
  onTestPacket,
}: {
  identity: ServedIdentity;
  host: string;
  xmlUrl: string;
  packetByteCount: number;
  resends: boolean;
  nowNs: () => bigint;
  onTestPacket: (target: StreamTarget) => void;
}): BootstrapRegisters {
  const area = Buffer.alloc(areaBytes);
  const text = (address: number, length: number, value: string) => area.write(value, address, length - 1, 'latin1');
  area.writeUInt32BE(0x0002_0000, 0x0000); // version 2.0
  area.writeUInt32BE(0x8000_0001, 0x0004); // big endian, transmitter, UTF-8
  writeMac(area, host);
  area.writeUInt32BE(0x0000_0007, 0x0010); // addresses by link-local, DHCP or fixed
  area.writeUInt32BE(0x0000_0001, 0x0014);
  writeIp(area, bootstrap.currentIp, host);
  writeIp(area, 0x0034, host.startsWith('127.') ? '255.0.0.0' : '255.255.255.0');
  text(0x0048, 32, identity.vendorName);
  text(0x0068, 32, identity.modelName);
  text(0x0088, 32, identity.deviceVersion);
  text(0x00a8, 48, identity.manufacturerInfo);
  text(0x00d8, 16, identity.serialNumber);
  text(0x0200, 512, xmlUrl);
  area.writeUInt32BE(1, 0x0600); // network interfaces
  area.writeUInt32BE(0, 0x0900); // message channels
  area.writeUInt32BE(1, 0x0904); // stream channels
  // User name and serial number registers, several registers a command, memory writes, resend.
  area.writeUInt32BE((0xc000_0003 | (resends ? 4 : 0)) >>> 0, 0x0934);
  area.writeUInt32BE(3000, bootstrap.heartbeatTimeout);
  area.writeBigUInt64BE(BigInt(ticksPerSecond), bootstrap.tickFrequency);
  area.writeUInt32BE(packetByteCount, bootstrap.streamPacketSize);

  const streamTarget = (): StreamTarget => ({
    host: area.subarray(bootstrap.streamDestination, bootstrap.streamDestination + 4).join('.'),
    port: area.readUInt16BE(bootstrap.streamPort + 2),
    packetByteCount: area.readUInt16BE(bootstrap.streamPacketSize + 2),
  });

  function writeRegister(address: number, value: number): GvcpStatus {
    if (!writable.has(address)) return gvcpStatus.writeProtected;
    if (address === bootstrap.streamPacketSize) {
      const wanted = value & 0xffff;
      if (wanted < packetByteCountMin || wanted > packetByteCountMax) return gvcpStatus.invalidParameter;
      area.writeUInt32BE((value & ~fireTestPacket) >>> 0, address);
      if (value & fireTestPacket) onTestPacket(streamTarget());
      return gvcpStatus.success;
    }
    if (address === bootstrap.heartbeatTimeout && value < 500) return gvcpStatus.invalidParameter;
    if (address === bootstrap.timestampControl) {
      if (value & latch) area.writeBigUInt64BE(nowNs(), bootstrap.timestampLatched);
      return gvcpStatus.success;
    }
    area.writeUInt32BE(value, address);
    return gvcpStatus.success;
  }

  return {
    endAddress: areaBytes,
    discoveryBlock: () => Buffer.from(area.subarray(0, discoveryBytes)),
    read: (address, byteCount) => area.subarray(address, address + byteCount),
    write(address, data) {
      if (address >= bootstrap.userName && address + data.length <= bootstrap.userName + 16) {
        data.copy(area, address);
        return gvcpStatus.success;
      }
      if (address % 4 !== 0 || data.length !== 4) return gvcpStatus.badAlignment;
      return writeRegister(address, data.readUInt32BE(0));
    },
    heartbeatTimeoutMs: () => area.readUInt32BE(bootstrap.heartbeatTimeout),
    setPrivilege(privilege, holder) {
      area.writeUInt32BE(privilege, bootstrap.controlPrivilege);
      area.writeUInt32BE(holder?.port ?? 0, bootstrap.primaryPort);
      writeIp(area, bootstrap.primaryIp, holder?.host ?? '0.0.0.0');
    },
    streamTarget,
  };
}

function writeIp(area: Buffer, address: number, host: string): void {
  host.split('.').forEach((part, i) => {
    area[address + i] = Number(part);
  });
}

/** A locally administered address, made from the IP address, so that two served cameras differ. */
function writeMac(area: Buffer, host: string): void {
  area.writeUInt16BE(0x0246, 0x000a);
  writeIp(area, 0x000c, host);
}
