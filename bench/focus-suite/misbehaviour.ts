import type { Random } from '../../src/base/index.js';
import { type FocusCamera, type Frame, wrapCamera } from '../../src/devices/index.js';
import type { GreyImage } from '../../src/image/index.js';
import type { SimulatedBench } from '../../src/twin/index.js';
import type { CaseKind } from './case-kinds.js';

/** Largest shift of a moving scene from frame to frame, and largest change of the light, either way. */
const mostShiftPx = 4;
const mostFlicker = 0.15;

/** The bench's camera with what its kind of case does to frames and commands; notes the true powers of every frame. */
export function misbehaving({
  bench,
  kind,
  index,
  random,
  framePowersDpt,
}: {
  bench: SimulatedBench;
  kind: CaseKind;
  index: number;
  random: Random;
  framePowersDpt: number[][];
}): FocusCamera {
  const { camera, world } = bench;
  let place = { x: 0, y: 0 };
  let first: Frame | null = null;
  const grab: FocusCamera['grab'] = async (options) => {
    if (kind === 'flicker') world.lightRatio = 1 + mostFlicker * (2 * random.uniform() - 1);
    const frame = await camera.grab(options);
    framePowersDpt.push(together(bench.seenPowersDpt()));
    first ??= frame;
    if (kind === 'same-frames') {
      const { image, frameId } = first;
      return { ...frame, image, ...(index % 2 === 0 && { frameId }) };
    }
    if (kind === 'wrong-direction') return { ...frame, focalPowerDpt: await mirrored(camera, frame.focalPowerDpt) };
    if (kind !== 'moving-scene') return frame;
    const step = () => Math.round(mostShiftPx * (2 * random.uniform() - 1));
    place = { x: place.x + step(), y: place.y + step() };
    return { ...frame, image: shifted(frame.image, place) };
  };
  if (kind !== 'wrong-direction') return wrapCamera(camera, { grab });
  return wrapCamera(camera, {
    grab,
    async lensStatus() {
      const status = await camera.lensStatus();
      return { ...status, focalPowerDpt: await mirrored(camera, status.focalPowerDpt) };
    },
  });
}

/** A power as a lens reads it back that answers in the wrong direction. */
async function mirrored(camera: FocusCamera, focalPowerDpt: number): Promise<number> {
  const { powerMinDpt, powerMaxDpt } = await camera.capabilities();
  return powerMinDpt + powerMaxDpt - focalPowerDpt;
}

/** Six powers in place of all, one where the lens rests. */
function together(powers: Float64Array): number[] {
  const list = [...powers];
  if (Math.max(...list) - Math.min(...list) < 1e-4) return [list[list.length >> 1]!];
  const size = Math.ceil(list.length / 6);
  return Array.from({ length: Math.ceil(list.length / size) }, (_, i) => {
    const part = list.slice(i * size, (i + 1) * size);
    return part.reduce((sum, p) => sum + p, 0) / part.length;
  });
}

/** The frame moved by whole pixels; what leaves on one side comes in on the other, outside the region. */
function shifted(image: GreyImage, { x, y }: { x: number; y: number }): GreyImage {
  const { widthPx, heightPx, data } = image;
  const moved = data.slice();
  const wrap = (value: number, count: number) => ((value % count) + count) % count;
  for (let row = 0; row < heightPx; row++) {
    const from = wrap(row - y, heightPx) * widthPx;
    for (let column = 0; column < widthPx; column++) {
      moved[row * widthPx + column] = data[from + wrap(column - x, widthPx)]!;
    }
  }
  return { ...image, data: moved };
}
