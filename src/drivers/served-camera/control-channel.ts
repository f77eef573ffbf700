import type { RemoteInfo } from 'node:dgram';
import { type BootstrapRegisters, bootstrap } from './bootstrap-registers.js';
import {
  type GvcpCommand,
  type GvcpStatus,
  gvcpAnswer,
  gvcpCommands,
  gvcpStatus,
  memoryBytesMax,
  readGvcpCommand,
} from './gvcp.js';

/** Packets of a frame that a client asks for again. */
export interface ResendRequest {
  blockId: number;
  firstPacketId: number;
  lastPacketId: number;
}

/** Registers at any address, whoever keeps them. */
export interface RegisterSpace {
  read(address: number, byteCount: number): Buffer | null;
  write(address: number, data: Buffer): GvcpStatus;
}

/** Answers the commands of clients. */
export interface ControlChannel {
  /** The answer to a packet, or null where none is due. */
  answer(packet: Buffer, from: Pick<RemoteInfo, 'address' | 'port'>): Buffer | null;
  /** Drops a client that was silent for longer than its heartbeat; call it from time to time. */
  dropSilentClient(): void;
}

const exclusive = 1;
const control = 2;

/**
 * Control of one camera by one client, seen by others.
 *
 * Model    one client has control, by the first write to the privilege register; others may read, or are refused where
 *          the control is exclusive. Without a command for the heartbeat time the control is free again.
 */
export function controlChannel({
  standard,
  own,
  nowMs,
  onResend,
  onControlLost,
}: {
  standard: BootstrapRegisters;
  own: RegisterSpace;
  nowMs: () => number;
  onResend: (request: ResendRequest) => void;
  onControlLost: () => void;
}): ControlChannel {
  let holder: { host: string; port: number } | null = null;
  let privilege = 0;
  let heardMs = 0;

  function release(): void {
    if (!holder) return;
    holder = null;
    privilege = 0;
    standard.setPrivilege(0, null);
    onControlLost();
  }

  function setPrivilege(wanted: number, from: { host: string; port: number }, isHolder: boolean): GvcpStatus {
    if (holder && !isHolder) return gvcpStatus.accessDenied;
    if ((wanted & (exclusive | control)) === 0) {
      release();
      return gvcpStatus.success;
    }
    holder = from;
    privilege = wanted;
    standard.setPrivilege(wanted, from);
    return gvcpStatus.success;
  }

  function read(address: number, byteCount: number): Buffer | null {
    return address + byteCount <= standard.endAddress
      ? standard.read(address, byteCount)
      : own.read(address, byteCount);
  }

  function write(address: number, data: Buffer, from: { host: string; port: number }, isHolder: boolean): GvcpStatus {
    if (address === bootstrap.controlPrivilege && data.length === 4) {
      return setPrivilege(data.readUInt32BE(0), from, isHolder);
    }
    if (!isHolder) return gvcpStatus.accessDenied;
    return address + data.length <= standard.endAddress ? standard.write(address, data) : own.write(address, data);
  }

  function readRegisters(command: GvcpCommand): Buffer {
    const values: Buffer[] = [];
    for (let at = 0; at + 4 <= command.body.length; at += 4) {
      const address = command.body.readUInt32BE(at);
      const value = address % 4 === 0 ? read(address, 4) : null;
      if (!value) return gvcpAnswer(command, address % 4 === 0 ? gvcpStatus.invalidAddress : gvcpStatus.badAlignment);
      values.push(value);
    }
    return gvcpAnswer(command, gvcpStatus.success, Buffer.concat(values));
  }

  function writeRegisters(command: GvcpCommand, from: { host: string; port: number }, isHolder: boolean): Buffer {
    const done = Buffer.alloc(4);
    for (let at = 0; at + 8 <= command.body.length; at += 8) {
      const status = write(command.body.readUInt32BE(at), command.body.subarray(at + 4, at + 8), from, isHolder);
      if (status !== gvcpStatus.success) return gvcpAnswer(command, status, done);
      done.writeUInt16BE(at / 8 + 1, 2);
    }
    return gvcpAnswer(command, gvcpStatus.success, done);
  }

  function readMemory(command: GvcpCommand): Buffer {
    if (command.body.length < 8) return gvcpAnswer(command, gvcpStatus.invalidParameter);
    const address = command.body.readUInt32BE(0);
    const byteCount = command.body.readUInt16BE(6);
    if (byteCount > memoryBytesMax) return gvcpAnswer(command, gvcpStatus.invalidParameter);
    if (address % 4 !== 0 || byteCount % 4 !== 0) return gvcpAnswer(command, gvcpStatus.badAlignment);
    const data = read(address, byteCount);
    if (!data) return gvcpAnswer(command, gvcpStatus.invalidAddress);
    return gvcpAnswer(command, gvcpStatus.success, Buffer.concat([command.body.subarray(0, 4), data]));
  }

  function writeMemory(command: GvcpCommand, from: { host: string; port: number }, isHolder: boolean): Buffer {
    if (command.body.length < 8) return gvcpAnswer(command, gvcpStatus.invalidParameter);
    const data = command.body.subarray(4);
    const status = write(command.body.readUInt32BE(0), data, from, isHolder);
    const done = Buffer.alloc(4);
    if (status === gvcpStatus.success) done.writeUInt16BE(data.length, 2);
    return gvcpAnswer(command, status, done);
  }

  return {
    answer(packet, { address: host, port }) {
      const command = readGvcpCommand(packet);
      if (!command) return null;
      const from = { host, port };
      const isHolder = holder !== null && holder.host === host && holder.port === port;
      if (isHolder) heardMs = nowMs();
      if (command.command === gvcpCommands.discovery) {
        return gvcpAnswer(command, gvcpStatus.success, standard.discoveryBlock());
      }
      if (command.command === gvcpCommands.packetResend) {
        // It may come from the port that takes the stream.
        if (holder?.host === host && command.body.length >= 12) {
          onResend({
            blockId: command.body.readUInt16BE(2),
            firstPacketId: command.body.readUInt32BE(4) & 0xffffff,
            lastPacketId: command.body.readUInt32BE(8) & 0xffffff,
          });
        }
        return null;
      }
      const answer = answered(command, from, isHolder);
      if (holder?.host === host && holder.port === port) heardMs = nowMs();
      return command.wantsAnswer ? answer : null;
    },
    dropSilentClient() {
      if (holder && nowMs() - heardMs > standard.heartbeatTimeoutMs()) release();
    },
  };

  function answered(command: GvcpCommand, from: { host: string; port: number }, isHolder: boolean): Buffer {
    if (!isHolder && privilege & exclusive) return gvcpAnswer(command, gvcpStatus.accessDenied);
    switch (command.command) {
      case gvcpCommands.readRegister:
        return readRegisters(command);
      case gvcpCommands.writeRegister:
        return writeRegisters(command, from, isHolder);
      case gvcpCommands.readMemory:
        return readMemory(command);
      case gvcpCommands.writeMemory:
        return writeMemory(command, from, isHolder);
      default:
        return gvcpAnswer(command, gvcpStatus.notImplemented);
    }
  }
}
