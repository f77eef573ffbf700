import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../src/base/index.js';
import { wrapCamera } from '../../../src/devices/index.js';
import { focalPowerAt } from '../../../src/optics/index.js';
import {
  expectedFocus,
  type FollowPartsRequest,
  focusHalfWidthDpt,
  followParts,
  modelFocus,
  stationFocusOptics,
  stationLensResponse,
} from '../../../src/procedures/index.js';
import type { FocusedPart } from '../../../src/station/index.js';
import { createSimulatedBench, type Fault, plain, type Scene, trueLayout } from '../../../src/twin/index.js';
import { smallStation as station } from '../../twin/small-station.js';

const { nearMm, farMm } = station.task;
const parkDpt = station.controls.parkPowerDpt;

/** Parts at drawn distances before the simulated station; what came of each beside the hidden truth. */
async function follow({
  partCount,
  seed = 2,
  isTold = true,
  faults = [],
  onPlaced = () => {},
  ...more
}: {
  partCount: number;
  seed?: number;
  isTold?: boolean;
  faults?: readonly Fault[];
  onPlaced?: (number: number, bench: ReturnType<typeof createSimulatedBench>) => void;
} & Pick<FollowPartsRequest, 'signal' | 'onProgress'>) {
  const bench = createSimulatedBench({ station, seed, faults });
  const random = seededRandom(seed);
  const parts: FocusedPart[] = [];
  const commandsDpt: number[] = [];
  const firstLooksDpt: (number | undefined)[] = [];
  let firstLookDpt: number | undefined;
  const camera = wrapCamera(bench.camera, {
    setFocalPower(command) {
      commandsDpt.push(command.focalPowerDpt);
      return bench.camera.setFocalPower(command);
    },
    grab(options) {
      // A move may take two commands: what counts is where the lens is sent before the first frame of a part.
      firstLookDpt ??= commandsDpt.at(-1);
      return bench.camera.grab(options);
    },
  });
  const errorHalfWidths: number[] = [];
  const summary = await followParts({
    camera,
    method: modelFocus({ optics: stationFocusOptics(station) }),
    region: { xPx: 32, yPx: 0, widthPx: 256, heightPx: 256 },
    response: stationLensResponse(station),
    async nextPart(number) {
      if (number > partCount) return null;
      const share = random.uniform();
      const workingDistanceMm = 1 / (share / nearMm + (1 - share) / farMm);
      await bench.stage.placeTarget({ workingDistanceMm });
      onPlaced(number, bench);
      commandsDpt.length = 0;
      firstLookDpt = undefined;
      return { workingDistanceMm: isTold ? workingDistanceMm : null };
    },
    async forecast(workingDistanceMm) {
      const { focalPowerDpt, mostOffDpt } = expectedFocus(station, [], workingDistanceMm);
      return { focalPowerDpt, focalPowerStdDpt: mostOffDpt / 4 };
    },
    onPart(part) {
      parts.push(part);
      firstLooksDpt.push(firstLookDpt);
      const { workingDistanceMm } = bench.world;
      const best = focalPowerAt({ model: trueLayout(station, bench.truth), workingDistanceMm });
      if (best.kind !== 'power') throw new Error('out of reach');
      const seenDpt = bench.seenPowersDpt().at(-1)!;
      errorHalfWidths.push((seenDpt - best.focalPowerDpt) / focusHalfWidthDpt({ station, workingDistanceMm }));
    },
    ...more,
  });
  return { bench, parts, firstLooksDpt, errorHalfWidths, summary };
}

describe('focus on parts that arrive', () => {
  it('recovery: twenty parts behind hidden build errors, each found within half of the half-width, most in two looks', async () => {
    const { parts, firstLooksDpt, errorHalfWidths, summary, bench } = await follow({ partCount: 20 });
    const right = parts.filter(({ result }, i) => result.kind === 'found' && Math.abs(errorHalfWidths[i]!) <= 0.5);
    expect(right.length).toBeGreaterThanOrEqual(19);
    expect(summary).toMatchObject({
      state: 'complete',
      partCount: 20,
      foundCount: parts.length - summary.refusedCount,
    });
    expect(summary.medianFrameCount).toBeLessThanOrEqual(3);
    // The first look is at the expected power; the shift that the parts have in common is learned.
    for (const [i, { expected }] of parts.entries()) expect(firstLooksDpt[i]).toBe(expected!.focalPowerDpt);
    expect(parts[8]!.expected!.focalPowerStdDpt).toBeLessThan(parts[0]!.expected!.focalPowerStdDpt);
    const isHonest = parts.filter(
      ({ offExpectedDpt, expected }) =>
        offExpectedDpt === null || Math.abs(offExpectedDpt) <= 3 * expected!.focalPowerStdDpt,
    );
    expect(isHonest.length).toBeGreaterThanOrEqual(19);
    expect((await bench.camera.lensStatus()).focalPowerDpt).toBe(parkDpt);
  }, 300_000);

  it('recovery: without distances a search begins where the lens stands', async () => {
    const { parts } = await follow({ partCount: 4, isTold: false });
    expect(parts.map(({ result }) => result.kind)).toEqual(['found', 'found', 'found', 'found']);
    expect(parts[0]!.expected).toBeNull();
    for (const [i, { expected, result }] of parts.slice(1).entries()) {
      const before = parts[i]!.result;
      expect(expected).toMatchObject({ from: 'last-part' });
      if (before.kind === 'found') expect(result.probes[0]!.focalPowerDpt).toBeCloseTo(before.focalPowerDpt, 2);
    }
  }, 200_000);

  it('recovery: a refused part in the middle is told, the lens waits at the last good power, and the next part is found', async () => {
    let waitedDpt = Number.NaN;
    let usual: Scene | undefined;
    const { parts, summary } = await follow({
      partCount: 4,
      onPlaced(number, { world, camera }) {
        usual ??= world.scene;
        world.scene = number === 2 ? plain : usual;
        if (number === 3) void camera.lensStatus().then(({ focalPowerDpt }) => (waitedDpt = focalPowerDpt));
      },
    });
    expect(parts.map(({ result }) => result.kind)).toEqual(['found', 'refused', 'found', 'found']);
    expect(parts[1]!.result).toMatchObject({ reason: 'no-texture', remedy: expect.any(String) });
    expect(parts[1]!.offExpectedDpt).toBeNull();
    const { result: good } = parts[0]!;
    if (good.kind === 'found') expect(waitedDpt).toBeCloseTo(good.focalPowerDpt, 2);
    expect(summary).toMatchObject({ foundCount: 3, refusedCount: 1 });
  }, 200_000);

  it('property: cancelling between parts or in the middle of one ends the run with the lens parked', async () => {
    for (const during of ['waiting', 'searching'] as const) {
      const signal = { aborted: false };
      let frames = 0;
      const { parts, summary, bench } = await follow({
        partCount: 9,
        signal,
        onPlaced: (number) => {
          if (number === 2 && during === 'waiting') signal.aborted = true;
        },
        onProgress: () => {
          if (during === 'searching' && frames++ === 4) signal.aborted = true;
        },
      });
      expect(summary.state).toBe('cancelled');
      expect(parts.length).toBeLessThan(3);
      expect((await bench.camera.lensStatus()).focalPowerDpt).toBe(parkDpt);
      expect(summary.partCount).toBe(parts.length);
    }
  }, 200_000);

  it('refuses to go on when the lens does not follow for three parts in turn; it is told to park', async () => {
    const { parts, summary } = await follow({
      partCount: 9,
      faults: [{ kind: 'stuck-lens', commandCount: 6, isReported: true }],
    });
    expect(summary.state).toBe('device');
    expect(parts.slice(-3).map(({ result }) => result.kind === 'refused' && result.reason)).toEqual([
      'device',
      'device',
      'device',
    ]);
  }, 200_000);
});
