import { createSocket } from 'node:dgram';
import koffi from 'koffi';
import { cameraFeatures, serveCamera } from '../../src/drivers/index.js';
import { framePackets } from '../../src/drivers/served-camera/gvsp.js';

// A GigE Vision camera that sends the same frame again and again, hundreds of packets a system call (Linux's sendmmsg), so that
// its own cost limits little. By software trigger it sends one after exposure and readout. Its lens says Busy while it settles.
// A process of its own:
//   still-camera.ts ADDRESS WIDTH HEIGHT FRAMES_PER_SECOND
const [host, width, height, rate] = process.argv.slice(2) as [string, string, string, string];
const [widthPx, heightPx, frameRateHz] = [Number(width), Number(height), Number(rate)];

const headerBytes = 8;
/** As those of the demonstration station glaze-line. */
const [settlingMs, exposureMs, readoutMs] = [13.8, 0.6, 8];
/** Packets of one system call. */
const perSend = 48;
/** Sends that are made up for after a pause. */
const mostLate = 20;
/** Bytes of the system's structures on 64 bits. */
const [iovecBytes, messageBytes] = [16, 64];

const sendMany = koffi.load('libc.so.6').func('int sendmmsg(int fd, void *messages, unsigned int count, int flags)');

const startNs = process.hrtime.bigint();
const nowNs = () => process.hrtime.bigint() - startNs;
const nowMs = () => Number(nowNs()) / 1e6;
let isRunning = false;
let busyUntilMs = 0;
let sendOne = () => {};

const camera = await serveCamera({
  host,
  features: cameraFeatures({
    vendorName: 'Focuswright',
    modelName: 'Simulated still frame',
    deviceVersion: '1',
    serialNumber: `still-${process.pid}`,
    widthPx,
    heightPx,
    pixelPitchUm: 3.45,
    pixelFormats: ['Mono8'],
    exposureMinUs: 10,
    exposureMaxUs: 1e6,
    exposureUs: 100,
    frameRateHz,
    lensModelName: 'Simulated',
    powerMinDpt: -2,
    powerMaxDpt: 3,
    powerDpt: 0,
    stepDpt: 0.005,
    targetDistanceMm: 300,
    targetDistanceMaxMm: 1e6,
    lensCurrent: null,
    hasFocusAuto: false,
    mustInitialise: false,
  }),
  outOfRange: 'refuse',
  resends: false,
  nowNs,
  onWrite(name, value) {
    if (name === 'AcquisitionStart') void stream(camera.registers.value('TriggerMode') === 'On');
    if (name === 'FocalPower') busyUntilMs = nowMs() + settlingMs;
    if (name === 'TriggerSoftware') void triggered(nowMs());
    if (name === 'AcquisitionStop') isRunning = false;
    return value;
  },
  onRead(name) {
    if (name === 'PayloadSize') camera.registers.set(name, widthPx * heightPx);
    if (/^(OpticController|Focus)Status$/.test(name))
      camera.registers.set(name, nowMs() < busyUntilMs ? 'Busy' : 'Ready');
  },
  onResend() {},
  onControlLost() {
    isRunning = false;
  },
});
process.stdout.write('served\n');
process.stdin.on('end', () => process.exit(0)).resume();

/** No timer of the system is as exact as a camera: the last of the time is waited out at work. */
async function triggered(atMs: number): Promise<void> {
  await new Promise((next) => setTimeout(next, exposureMs + readoutMs - 3));
  while (nowMs() < atMs + exposureMs + readoutMs);
  sendOne();
}

async function stream(isTriggered: boolean): Promise<void> {
  isRunning = true;
  const { host: toHost, port, packetByteCount } = camera.streamTarget();
  const data = new Uint8Array(widthPx * heightPx).fill(100);
  const packets = framePackets(
    { blockId: 1, timestampNs: 0n, pixelFormat: 'Mono8', xPx: 0, yPx: 0, widthPx, heightPx, data },
    packetByteCount,
  );
  const made = Array.from({ length: packets.count }, (_, i) => packets.packet(i));
  const { all, messages } = inPlainMemory(made);
  const payload = all.slice(1, -1);
  const partCount = Math.ceil(all.length / perSend);
  const socket = createSocket({ type: 'udp4', sendBufferSize: 4 << 20 });
  socket.on('error', () => {});
  await new Promise<void>((done) => socket.bind({ address: host }, () => socket.connect(port, toHost, done)));
  const { fd } = (socket as unknown as { _handle: { fd: number } })._handle;
  const sendPart = (part: number) => {
    const at = part % partCount;
    if (at === 0) {
      const blockId = (Math.floor(part / partCount) % 65535) + 1;
      for (const packet of all) packet.writeUInt16BE(blockId, 2);
      // Each packet shows which frame it is of, so that its receiver can prove that a frame is of one piece.
      for (const packet of payload) packet[headerBytes] = blockId & 0xff;
      all[0]!.writeBigUInt64BE(nowNs(), 12);
    }
    sendMany(fd, messages + BigInt(at * perSend * messageBytes), Math.min(perSend, all.length - at * perSend), 0);
  };
  sendOne = () => {
    for (let part = 0; part < partCount; part++) sendPart(sent++);
  };
  // The packets of a frame are spread over its period, as a camera sends them at the pace of its link.
  let sent = 0;
  const partMs = 1000 / frameRateHz / partCount;
  let beganMs = performance.now();
  while (isRunning) {
    let due = Math.floor((performance.now() - beganMs) / partMs);
    // After a pause on a busy machine it goes on at its pace, and does not catch up in a burst.
    const late = due - sent - mostLate;
    if (late > 0) {
      beganMs += late * partMs;
      due -= late;
    }
    for (; sent < due && !isTriggered; sent++) sendPart(sent);
    await new Promise((next) => setTimeout(next, 1));
  }
  socket.close();
}

/** The packets at fixed places of memory, and the list of messages that sendmmsg takes. */
function inPlainMemory(made: readonly Buffer[]): { all: Buffer[]; messages: bigint } {
  const allocate = (byteCount: number) => {
    const at = koffi.alloc('uint8_t', byteCount) as unknown as bigint;
    return { at, bytes: Buffer.from(koffi.view(at, byteCount)) };
  };
  const data = allocate(made.reduce((sum, { length }) => sum + length, 0));
  const vectors = allocate(made.length * iovecBytes);
  const list = allocate(made.length * messageBytes);
  list.bytes.fill(0);
  let at = 0;
  const all = made.map((packet, i) => {
    packet.copy(data.bytes, at);
    vectors.bytes.writeBigUInt64LE(data.at + BigInt(at), i * iovecBytes);
    vectors.bytes.writeBigUInt64LE(BigInt(packet.length), i * iovecBytes + 8);
    list.bytes.writeBigUInt64LE(vectors.at + BigInt(i * iovecBytes), i * messageBytes + 16);
    list.bytes.writeBigUInt64LE(1n, i * messageBytes + 24);
    at += packet.length;
    return data.bytes.subarray(at - packet.length, at);
  });
  return { all, messages: list.at };
}
