import { describe, expect, it } from 'vitest';
import type { Frame } from '../../src/devices/index.js';
import { createSimulatedBench, noBuildErrors, plain } from '../../src/twin/index.js';
import { smallStation } from './small-station.js';

const { widthPx, heightPx } = smallStation.parts.sensor;

async function frameAt(workingDistanceMm: number, secondPlaneMm = 0): Promise<Frame> {
  const bench = createSimulatedBench({ station: smallStation, seed: 5, buildErrors: noBuildErrors(), secondPlaneMm });
  await bench.stage.placeTarget({ workingDistanceMm });
  await bench.camera.setFocalPower({ focalPowerDpt: 0.4 });
  await bench.camera.clock.sleep(200);
  return bench.camera.grab();
}

/** Grey values of some columns. */
const columns = ({ image }: Frame, from: number, until: number) =>
  Array.from({ length: heightPx }, (_, y) =>
    Array.from(image.data.slice(y * widthPx + from, y * widthPx + until)),
  ).flat();

describe('two planes', () => {
  it('property: each half of the field equals a field that lies wholly in its plane', async () => {
    const both = await frameAt(400, 90);
    const middle = widthPx / 2;
    expect(columns(both, 0, middle)).toEqual(columns(await frameAt(400), 0, middle));
    expect(columns(both, middle, widthPx)).toEqual(columns(await frameAt(490), middle, widthPx));
  });

  it('property: a plain card shows noise and shading, no texture', async () => {
    const bench = createSimulatedBench({ station: smallStation, seed: 5, buildErrors: noBuildErrors(), scene: plain });
    const { image } = await bench.camera.grab();
    const means = [0, 1].map((half) => {
      const values = columns({ image } as Frame, (half * widthPx) / 2, ((half + 1) * widthPx) / 2);
      return values.reduce((sum, value) => sum + value, 0) / values.length;
    });
    expect(means[0]! / means[1]!).toBeCloseTo(1, 2);
    expect(Math.max(...image.data) - Math.min(...image.data)).toBeLessThan(0.25 * means[0]!);
  });
});
