import { describe, expect, it } from 'vitest';
import type { Frame } from '../../src/devices/index.js';
import { focalPowerAt, greyValueStatistics, photonsPerPixel } from '../../src/optics/index.js';
import { layoutModelOf, type Station } from '../../src/station/index.js';
import { type Canvas, createSimulatedBench, drawBuildErrors, noBuildErrors, type Scene } from '../../src/twin/index.js';
import { smallStation, withLens, withSensor } from './small-station.js';

const grey = (reflectance: number): Scene => ({
  name: 'grey',
  paint: (canvas: Canvas) => {
    canvas.reflectance.fill(reflectance);
  },
});

async function frames(seed: number, powers = [0, 1, 1, -0.5]): Promise<Frame[]> {
  const bench = createSimulatedBench({ station: smallStation, seed });
  await bench.stage.placeTarget({ workingDistanceMm: 420 });
  const taken: Frame[] = [];
  for (const focalPowerDpt of powers) {
    await bench.camera.setFocalPower({ focalPowerDpt });
    await bench.camera.clock.sleep(12);
    taken.push(await bench.camera.grab());
  }
  return taken;
}

const middleOf = ({ image }: Frame, half = 40): number[] => {
  const values: number[] = [];
  for (let y = image.heightPx / 2 - half; y < image.heightPx / 2 + half; y++) {
    for (let x = image.widthPx / 2 - half; x < image.widthPx / 2 + half; x++)
      values.push(image.data[y * image.widthPx + x]!);
  }
  return values;
};
const bytesOf = ({ image: { data } }: Frame) => Buffer.from(data.buffer, data.byteOffset, data.byteLength);
const sameData = (a: Frame, b: Frame) => bytesOf(a).equals(bytesOf(b));
const meanOf = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
const sharpnessOf = ({ image }: Frame) => {
  let sum = 0;
  for (let i = 1; i < image.data.length; i++) sum += (image.data[i]! - image.data[i - 1]!) ** 2;
  return sum / image.data.length;
};

describe('simulated bench', () => {
  it('property: the same station, seed and calls give the same frames, byte for byte, in all their fields', async () => {
    const first = await frames(3);
    const second = await frames(3);
    first.forEach((frame, i) => {
      expect(sameData(frame, second[i]!)).toBe(true);
      expect({ ...frame, image: null }).toEqual({ ...second[i]!, image: null });
    });
  });

  it('property: another seed gives other frames, and a repeated frame at rest differs in its noise', async () => {
    const [a] = await frames(3);
    const [b, first, again] = await frames(4);
    expect(sameData(a!, b!)).toBe(false);
    expect(sameData(again!, first!)).toBe(false);
  });

  it('property: frames carry sim:, the claimed power, and the times of exposure and arrival', async () => {
    const [frame] = await frames(3);
    expect(frame).toMatchObject({
      source: 'sim:glaze-line',
      focalPowerDpt: 0,
      exposureMs: 0.6,
      fileName: null,
      frameId: 1,
    });
    expect(frame!.exposedAtMs).toBeCloseTo(800 + 12 + 0.3, 9);
    expect(frame!.arrivedAtMs).toBeCloseTo(800 + 12 + 0.6 + smallStation.parts.sensor.readoutMs, 9);
  });

  it('property: frames come no faster than the frame rate allows', async () => {
    const { camera } = createSimulatedBench({ station: withSensor({ readoutMs: 0, frameRateHz: 50 }) });
    const a = await camera.grab();
    const b = await camera.grab();
    expect(b.exposedAtMs - a.exposedAtMs).toBeCloseTo(20, 9);
  });

  it('reference: mean and noise of a flat target are those of greyValueStatistics (EMVA 1288)', async () => {
    const station = withSensor({
      bitDepth: 12,
      gainDnPerE: 0.35,
      fullWellE: 10_500,
      readNoiseE: 2.5,
      blackLevelDn: 10,
    });
    const { camera } = createSimulatedBench({ station, buildErrors: noBuildErrors(), scene: grey(0.4) });
    const { sensor, light } = station.parts;
    await camera.setExposure({ exposureMs: 0.2 });
    const a = middleOf(await camera.grab());
    const b = middleOf(await camera.grab());
    const photons = photonsPerPixel({
      irradianceUwPerCm2: 0.4 * light.sensorIrradianceUwPerCm2!,
      exposureMs: 0.2,
      wavelengthNm: light.wavelengthNm,
      pixelPitchUm: sensor.pixelPitchUm,
    });
    const expected = greyValueStatistics({
      sensor: {
        quantumEfficiency: sensor.quantumEfficiency,
        systemGainDnPerE: 0.35,
        darkNoiseE: 2.5,
        darkCurrentEPerS: 0,
        saturationCapacityE: 10_500,
        darkOffsetDn: 10,
        darkNonUniformityE: 0,
        responseNonUniformity: 0,
      },
      photons,
      exposureMs: 0.2,
    });
    // The middle of the field loses some light to cos⁴, less than 0.2 %.
    expect(meanOf(a) / expected.meanDn).toBeCloseTo(1, 2);
    const variance = meanOf(a.map((value, i) => (value - b[i]!) ** 2 / 2));
    expect(variance / expected.temporalStdDn ** 2).toBeGreaterThan(0.93);
    expect(variance / expected.temporalStdDn ** 2).toBeLessThan(1.07);
  });

  const { layout, parts } = smallStation;
  const groups = { frontFocalLengthMm: 40, frontToStopMm: 5, stopToRearMm: 5, rearFocalLengthMm: 20 };
  const layouts: [string, Station][] = [
    ['object-side', smallStation],
    [
      'image-side',
      { ...smallStation, layout: { ...layout, tunableLensAt: 'image-side', gapMm: 8, ringDistanceMm: 420 } },
    ],
    [
      'at-stop',
      {
        ...smallStation,
        layout: { ...layout, tunableLensAt: 'at-stop', gapMm: 0 },
        parts: { ...parts, fixedLens: { ...parts.fixedLens, groups, pupilMagnification: 0.875 / 0.75 } },
      },
    ],
  ];
  it.each(layouts)(
    'property: %s, without build errors the target is sharpest at the power that src/optics predicts',
    async (_, station) => {
      const predicted = focalPowerAt({ model: layoutModelOf(station), workingDistanceMm: 420 });
      if (predicted.kind !== 'power') throw new Error('no power focuses the target');
      const bench = createSimulatedBench({ station, buildErrors: noBuildErrors() });
      await bench.stage.placeTarget({ workingDistanceMm: 420 });
      const sharpness: number[] = [];
      for (const off of [-0.4, -0.2, 0, 0.2, 0.4]) {
        await bench.camera.setFocalPower({ focalPowerDpt: predicted.focalPowerDpt + off });
        await bench.camera.clock.sleep(100);
        sharpness.push(sharpnessOf(await bench.camera.grab()));
      }
      expect(Math.max(...sharpness)).toBe(sharpness[2]);
      expect(sharpness[1]).toBeGreaterThan(sharpness[0]!);
      expect(sharpness[3]).toBeGreaterThan(sharpness[4]!);
    },
  );

  it('recovery: a hidden offset of 0.12 dpt moves the sharpest command by −0.12 dpt', async () => {
    const sharpestCommand = async (lensOffsetDpt: number) => {
      const buildErrors = { ...noBuildErrors(), lensOffsetDpt };
      const bench = createSimulatedBench({ station: withLens({ controlStepDpt: 0 }), buildErrors });
      await bench.stage.placeTarget({ workingDistanceMm: 420 });
      let sum = 0;
      let moment = 0;
      // Half-way points of the flanks would do as well: the middle of the curve above its foot.
      for (let focalPowerDpt = -0.2; focalPowerDpt < 1.2; focalPowerDpt += 0.04) {
        await bench.camera.setFocalPower({ focalPowerDpt });
        await bench.camera.clock.sleep(100);
        const weight = Math.max(0, sharpnessOf(await bench.camera.grab()) - 40);
        sum += weight;
        moment += weight * focalPowerDpt;
      }
      return moment / sum;
    };
    expect((await sharpestCommand(0.12)) - (await sharpestCommand(0))).toBeCloseTo(-0.12, 2);
  });

  it('property: the truth is what was drawn, but for what was set; procedures see none of it', async () => {
    const bench = createSimulatedBench({ station: smallStation, seed: 8, buildErrors: { lensOffsetDpt: 0.123 } });
    expect(bench.truth).toEqual({ ...drawBuildErrors({ station: smallStation, seed: 8 }), lensOffsetDpt: 0.123 });
    expect(JSON.stringify(await bench.camera.identify())).not.toContain('0.123');
  });

  it('property: the stage says what was asked; the target stands within its placement error', async () => {
    const bench = createSimulatedBench({ station: smallStation, seed: 2 });
    expect(await bench.stage.placeTarget({ workingDistanceMm: 400 })).toBe(400);
    expect(bench.world.workingDistanceMm).not.toBe(400);
    expect(Math.abs(bench.world.workingDistanceMm - 400)).toBeLessThan(5 * bench.truth.placementStdMm);
  });

  it('closed form: the thermometer follows ambient + rise·(1 − exp(−t/240 s)), with its own error', async () => {
    const { camera, truth } = createSimulatedBench({ station: smallStation, seed: 2 });
    await camera.clock.sleep(240_000);
    const { temperatureDegC } = await camera.lensStatus();
    const { ambientDegC, warmUpDegC } = smallStation.rehearsal;
    const expected = ambientDegC + warmUpDegC * (1 - Math.exp(-1)) + truth.temperatureReadingDegC;
    expect(Math.abs(temperatureDegC! - expected)).toBeLessThan(0.3);
  });

  it('property: the lens reports moving after a command, ready later', async () => {
    const { camera } = createSimulatedBench({ station: smallStation });
    expect((await camera.lensStatus()).state).toBe('ready');
    await camera.setFocalPower({ focalPowerDpt: 2 });
    expect((await camera.lensStatus()).state).toBe('moving');
    await camera.clock.sleep(100);
    expect((await camera.lensStatus()).state).toBe('ready');
  });

  it('property: parking brings the lens to the station’s parking power', async () => {
    const { camera } = createSimulatedBench({ station: smallStation });
    await camera.setFocalPower({ focalPowerDpt: 2 });
    await camera.park();
    expect((await camera.lensStatus()).focalPowerDpt).toBe(smallStation.controls.parkPowerDpt);
  });

  it('refuses powers beyond the lens, exposures out of range, closed cameras, distances that are none', async () => {
    const { camera, stage } = createSimulatedBench({ station: smallStation });
    await expect(camera.setFocalPower({ focalPowerDpt: 3.01 })).rejects.toMatchObject({
      code: 'lens-power-out-of-range',
    });
    await expect(camera.setFocalPower({ focalPowerDpt: Number.NaN })).rejects.toThrow(/focalPowerDpt is NaN dpt/);
    await expect(camera.setExposure({ exposureMs: 0 })).rejects.toThrow(/exposureMs is 0 ms/);
    await expect(stage.placeTarget({ workingDistanceMm: Number.NaN })).rejects.toMatchObject({
      code: 'target-not-placeable',
    });
    await camera.close();
    await expect(camera.grab()).rejects.toMatchObject({ code: 'camera-closed' });
    await expect(camera.lensStatus()).rejects.toMatchObject({ code: 'camera-closed' });
  });

  it('refuses seeds that are no whole numbers', () => {
    expect(() => createSimulatedBench({ station: smallStation, seed: 1.5 })).toThrow(/seed/);
  });
});
