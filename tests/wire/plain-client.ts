import { createSocket, type Socket } from 'node:dgram';

// A client of a few lines, written against the wire format alone, that shows what Aravis hides: each packet as it came.

/** One frame with all that was seen of its packets. */
export interface SeenFrame {
  blockId: number;
  /** Camera time of the exposure's start. */
  timestampNs: bigint;
  widthPx: number;
  heightPx: number;
  pixelFormat: number;
  data: Buffer;
  missing: number[];
  /** Packets that came after a later one of their frame. */
  lateCount: number;
  arrivedAtMs: number;
}

export interface PlainClient {
  readRegister(address: number): Promise<{ status: number; value: number }>;
  writeRegister(address: number, value: number): Promise<number>;
  readMemory(address: number, byteCount: number): Promise<Buffer>;
  writeMemory(address: number, data: Buffer): Promise<number>;
  /** Addresses and kinds from the camera's own description. */
  features(): Promise<Map<string, number>>;
  setFloat(name: string, value: number): Promise<number>;
  getFloat(name: string): Promise<number>;
  set(name: string, value: number): Promise<number>;
  get(name: string): Promise<number>;
  startStream(packetByteCount: number): Promise<void>;
  askAgain(blockId: number, first: number, last: number): void;
  /** The next frame whose trailer has come; null after the time. */
  nextFrame(withinMs: number): Promise<SeenFrame | null>;
  frames: SeenFrame[];
  /** Packets of frames that had been handed out. */
  afterwards: { blockId: number; packetId: number }[];
  close(): void;
}

const overheadBytes = 36;

export async function openPlainClient(address: string): Promise<PlainClient> {
  const control = createSocket('udp4');
  const stream = createSocket({ type: 'udp4', recvBufferSize: 4 << 20 });
  await Promise.all([control, stream].map((socket) => new Promise<void>((done) => socket.bind(0, '127.0.0.1', done))));
  const answers = new Map<number, (packet: Buffer) => void>();
  control.on('message', (packet) => answers.get(packet.readUInt16BE(6))?.(packet));
  let lastId = 0;
  let known: Map<string, number> | null = null;

  async function ask(command: number, body: Buffer): Promise<{ status: number; body: Buffer }> {
    lastId = (lastId % 65535) + 1;
    const id = lastId;
    const head = Buffer.from([
      0x42,
      1,
      command >> 8,
      command & 255,
      body.length >> 8,
      body.length & 255,
      id >> 8,
      id & 255,
    ]);
    const answer = new Promise<Buffer>((resolve, reject) => {
      const timer = setTimeout(() => reject(new Error(`no answer to command ${command.toString(16)}`)), 5000);
      answers.set(id, (packet) => {
        clearTimeout(timer);
        answers.delete(id);
        resolve(packet);
      });
    });
    control.send(Buffer.concat([head, body]), 3956, address);
    const packet = await answer;
    return { status: packet.readUInt16BE(0), body: packet.subarray(8) };
  }
  const words = (...values: number[]) => {
    const body = Buffer.alloc(4 * values.length);
    values.forEach((value, i) => {
      body.writeUInt32BE(value >>> 0, 4 * i);
    });
    return body;
  };

  const received = receiveFrames(stream);
  const client: PlainClient = {
    async readRegister(at) {
      const { status, body } = await ask(0x80, words(at));
      return { status, value: status === 0 ? body.readUInt32BE(0) : 0 };
    },
    writeRegister: async (at, value) => (await ask(0x82, words(at, value))).status,
    async readMemory(at, byteCount) {
      const { status, body } = await ask(0x84, words(at, byteCount));
      if (status !== 0) throw new Error(`status ${status.toString(16)}`);
      return body.subarray(4);
    },
    writeMemory: async (at, data) => (await ask(0x86, Buffer.concat([words(at), data]))).status,
    async features() {
      if (known) return known;
      const url = (await client.readMemory(0x200, 512)).toString('latin1').replace(/\0.*$/s, '');
      const [, place, size] = url.split(';').map((part) => Number.parseInt(part, 16)) as [number, number, number];
      let xml = '';
      for (let at = 0; at < size; at += 512) {
        const count = Math.min(512, 4 * Math.ceil((size - at) / 4));
        xml += (await client.readMemory(place + at, count)).toString('latin1');
      }
      known = new Map(
        [
          ...xml.matchAll(
            /Name="(\w+?)(?:Register)?"[^>]*>(?:(?!<\/).)*?(?:<\w+>[^<]*<\/\w+>\s*)*?<Address>0x(\w+)</gs,
          ),
        ].map(([, name, at]) => [name!, Number.parseInt(at!, 16)]),
      );
      return known;
    },
    async setFloat(name, value) {
      const data = Buffer.alloc(8);
      data.writeDoubleBE(value);
      return client.writeMemory((await client.features()).get(name)!, data);
    },
    getFloat: async (name) => (await client.readMemory((await client.features()).get(name)!, 8)).readDoubleBE(0),
    set: async (name, value) => client.writeRegister((await client.features()).get(name)!, value),
    get: async (name) => (await client.readRegister((await client.features()).get(name)!)).value,
    async startStream(packetByteCount) {
      await client.writeRegister(0xa00, 2);
      await client.writeRegister(0xd18, 0x7f000001);
      await client.writeRegister(0xd00, stream.address().port);
      await client.writeRegister(0xd04, packetByteCount);
      received.begin(packetByteCount - overheadBytes);
      await client.set('AcquisitionStart', 1);
    },
    askAgain(blockId, first, last) {
      const body = words(blockId, first, last);
      control.send(Buffer.concat([Buffer.from([0x42, 0, 0, 0x40, 0, body.length, 0, 0]), body]), 3956, address);
    },
    nextFrame: received.next,
    frames: received.frames,
    afterwards: received.afterwards,
    close() {
      control.close();
      stream.close();
    },
  };
  return client;
}

function receiveFrames(stream: Socket) {
  const open = new Map<number, SeenFrame & { highest: number; seen: Set<number>; count: number }>();
  const frames: SeenFrame[] = [];
  const waiting: ((frame: SeenFrame) => void)[] = [];
  const done = new Set<number>();
  const state = {
    chunkByteCount: 0,
    begin(chunkByteCount: number) {
      state.chunkByteCount = chunkByteCount;
      done.clear();
      open.clear();
    },
    frames,
    afterwards: [] as { blockId: number; packetId: number }[],
    next: (withinMs: number) =>
      new Promise<SeenFrame | null>((resolve) => {
        const take = (frame: SeenFrame) => {
          clearTimeout(timer);
          resolve(frame);
        };
        const timer = setTimeout(() => {
          waiting.splice(waiting.indexOf(take), 1);
          resolve(null);
        }, withinMs);
        waiting.push(take);
      }),
  };
  stream.on('message', (packet) => {
    const blockId = packet.readUInt16BE(2);
    const format = packet[4]! & 15;
    const packetId = packet.readUInt32BE(4) & 0xffffff;
    if (done.has(blockId)) {
      state.afterwards.push({ blockId, packetId });
      return;
    }
    let frame = open.get(blockId);
    if (!frame) {
      frame = {
        blockId,
        timestampNs: 0n,
        widthPx: 0,
        heightPx: 0,
        pixelFormat: 0,
        data: Buffer.alloc(0),
        missing: [],
        lateCount: 0,
        arrivedAtMs: 0,
        highest: -1,
        seen: new Set(),
        count: 0,
      };
      open.set(blockId, frame);
    }
    frame.seen.add(packetId);
    if (packetId < frame.highest) frame.lateCount++;
    frame.highest = Math.max(frame.highest, packetId);
    if (format === 1) {
      frame.timestampNs = packet.readBigUInt64BE(12);
      frame.pixelFormat = packet.readUInt32BE(20);
      frame.widthPx = packet.readUInt32BE(24);
      frame.heightPx = packet.readUInt32BE(28);
      const bytes = frame.widthPx * frame.heightPx * (((frame.pixelFormat >> 16) & 255) / 8);
      frame.data = Buffer.alloc(bytes);
      frame.count = Math.ceil(bytes / state.chunkByteCount) + 2;
    } else if (format === 3) packet.copy(frame.data, (packetId - 1) * state.chunkByteCount, 8);
    if (frame.count > 0 && frame.seen.has(frame.count - 1) && frame.arrivedAtMs === 0) {
      frame.arrivedAtMs = performance.now();
      const { seen, count } = frame;
      frame.missing = Array.from({ length: count }, (_, i) => i).filter((i) => !seen.has(i));
      frames.push(frame);
      waiting.shift()?.(frame);
      open.delete(blockId);
      done.add(blockId);
    }
  });
  return state;
}
