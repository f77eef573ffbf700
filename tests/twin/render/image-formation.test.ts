import { describe, expect, it } from 'vitest';
import { layoutDefocusWaves, systemOtf, traceSystem } from '../../../src/optics/index.js';
import { layoutModelOf } from '../../../src/station/index.js';
import type { Canvas, Scene } from '../../../src/twin/index.js';
import { frameKernel } from '../../../src/twin/render/frame-kernel.js';
import { exposureParts, imageFormation } from '../../../src/twin/render/image-formation.js';
import { paintPolygon } from '../../../src/twin/scenes/paint-polygon.js';
import { opticalStateAt } from '../../../src/twin/true-optics.js';
import { smallStation } from '../small-station.js';

const { sensor, light } = smallStation.parts;
const model = layoutModelOf(smallStation);
const workingDistanceMm = 430;
const size = { widthPx: sensor.widthPx, heightPx: sensor.heightPx };
const optics = { wavelengthNm: light.wavelengthNm, pixelPitchUm: sensor.pixelPitchUm };
const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));

function formation(scene: Scene, sphericalAberrationNm = 0) {
  const world = { scene, workingDistanceMm, speedMmPerS: 0, lightRatio: 1, temperatureAt: () => 25 };
  return imageFormation({
    kernel: frameKernel(),
    world,
    model,
    ...size,
    ...optics,
    sphericalAberrationNm,
    powerMinDpt: -2.2,
    powerMaxDpt: 3.2,
  });
}

const settledAt = (focalPowerDpt: number) => new Float64Array(exposureParts).fill(focalPowerDpt);
const stateAt = (focalPowerDpt: number) => opticalStateAt({ model, focalPowerDpt, workingDistanceMm, ...optics });

/** Power that puts the target so many waves out of focus, by bisection on src/optics. */
function powerFor(waves: number): number {
  let low = -2;
  let high = 3;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (layoutDefocusWaves({ model, focalPowerDpt: middle, workingDistanceMm, ...optics }) > waves) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Bars whose reflectance is a sinus along x, each cell holding its exact mean. */
const bars = (frequencyPerMm: number): Scene => ({
  name: 'bars',
  paint({ columnCount, rowCount, cellWidthMm, reflectance }: Canvas) {
    for (let column = 0; column < columnCount; column++) {
      const xMm = (column - (columnCount - 1) / 2) * cellWidthMm;
      const value = 0.5 + 0.4 * sinc(frequencyPerMm * cellWidthMm) * Math.cos(2 * Math.PI * frequencyPerMm * xMm);
      for (let row = 0; row < rowCount; row++) reflectance[row * columnCount + column] = value;
    }
  },
});

/** Signed contrast of the bars in the middle of an image, by least squares. */
function contrastOf(image: Float32Array, frequencyPerPx: number): number {
  const phase = (column: number) => 2 * Math.PI * frequencyPerPx * (column - (size.widthPx - 1) / 2);
  let cosine = 0;
  let square = 0;
  const row = (size.heightPx >> 1) * size.widthPx;
  for (let column = 60; column < size.widthPx - 60; column++) {
    cosine += (image[row + column]! - 0.5) * Math.cos(phase(column));
    square += Math.cos(phase(column)) ** 2;
  }
  return cosine / square / 0.4;
}

describe('image formation', () => {
  const frequencies = [0.03, 0.0625, 0.11, 0.18, 0.25, 0.37, 0.46];
  it.each([0, 0.25, -0.5, 0.75, 1, -1.5, 2, 3, 6])(
    'reference: contrast of rendered bars is the exact signed OTF × pixel at %d waves of defocus',
    (waves) => {
      const focalPowerDpt = powerFor(waves);
      const { magnification } = stateAt(focalPowerDpt);
      const { workingFNumber } = traceSystem({ model, focalPowerDpt });
      for (const frequencyPerPx of frequencies) {
        const spatialFrequencyPerMm = frequencyPerPx / (sensor.pixelPitchUm / 1000);
        const image = formation(bars(spatialFrequencyPerMm * magnification)).image(settledAt(focalPowerDpt));
        const expected = systemOtf({ spatialFrequencyPerMm, workingFNumber, defocusWaves: waves, ...optics });
        expect(Math.abs(contrastOf(image, frequencyPerPx) - expected)).toBeLessThan(0.003);
      }
    },
  );

  it('reference: two waves out of focus, bars of 0.22 cycles per pixel come out with dark and bright exchanged', () => {
    // OTF −0.084 at s = 0.1 in the table of Hopkins's integral, times a pixel of 0.92.
    const focalPowerDpt = powerFor(2);
    const spatialFrequencyPerMm = 0.1 / (light.wavelengthNm * 1e-6 * stateAt(focalPowerDpt).workingFNumber);
    const frequencyPerPx = (spatialFrequencyPerMm * sensor.pixelPitchUm) / 1000;
    const scene = bars(spatialFrequencyPerMm * stateAt(focalPowerDpt).magnification);
    const contrast = contrastOf(formation(scene).image(settledAt(focalPowerDpt)), frequencyPerPx);
    expect(contrast).toBeCloseTo(-0.08396 * sinc(frequencyPerPx), 3);
  });

  it('reference: with spherical aberration, focus of least variance, contrast is that of W040 with W20 − W040', () => {
    for (const waves of [0, 0.6, -1]) {
      const focalPowerDpt = powerFor(waves);
      const { magnification } = stateAt(focalPowerDpt);
      const { workingFNumber } = traceSystem({ model, focalPowerDpt });
      for (const frequencyPerPx of [0.0625, 0.18, 0.37]) {
        const spatialFrequencyPerMm = frequencyPerPx / (sensor.pixelPitchUm / 1000);
        const scene = bars(spatialFrequencyPerMm * magnification);
        const image = formation(scene, 0.8 * light.wavelengthNm).image(settledAt(focalPowerDpt));
        const expected = systemOtf({
          spatialFrequencyPerMm,
          workingFNumber,
          defocusWaves: waves - 0.8,
          sphericalWaves: 0.8,
          ...optics,
        });
        expect(Math.abs(contrastOf(image, frequencyPerPx) - expected)).toBeLessThan(0.003);
      }
    }
  });

  it('reference: an exposure of a moving lens has the mean of the signed OTFs, not of their moduli', () => {
    const from = powerFor(1.5);
    const until = powerFor(-0.5);
    const path = Float64Array.from(
      { length: exposureParts },
      (_, i) => from + ((i + 0.5) / exposureParts) * (until - from),
    );
    const { magnification } = stateAt(path[exposureParts >> 1]!);
    const { workingFNumber } = traceSystem({ model, focalPowerDpt: from });
    for (const frequencyPerPx of [0.11, 0.18, 0.25]) {
      const spatialFrequencyPerMm = frequencyPerPx / (sensor.pixelPitchUm / 1000);
      const image = formation(bars(spatialFrequencyPerMm * magnification)).image(path);
      const otfs = Array.from(path, (focalPowerDpt) =>
        systemOtf({
          spatialFrequencyPerMm,
          workingFNumber,
          defocusWaves: layoutDefocusWaves({ model, focalPowerDpt, workingDistanceMm, ...optics }),
          ...optics,
        }),
      );
      const expected = otfs.reduce((sum, otf) => sum + otf, 0) / otfs.length;
      expect(Math.abs(contrastOf(image, frequencyPerPx) - expected)).toBeLessThan(0.003);
    }
  });

  it.each([0, 0.4, 1])(
    'reference: the MTF of a rendered slanted edge is the exact OTF × pixel at %d waves',
    (waves) => {
      const angle = (5 * Math.PI) / 180;
      const edge: Scene = {
        name: 'edge',
        paint(canvas) {
          canvas.reflectance.fill(0.8);
          const far = 400;
          const along = { xMm: -Math.sin(angle), yMm: Math.cos(angle) };
          const across = { xMm: Math.cos(angle), yMm: Math.sin(angle) };
          const corner = (a: number, b: number) => ({
            xMm: a * along.xMm + b * across.xMm,
            yMm: a * along.yMm + b * across.yMm,
          });
          paintPolygon(canvas, [corner(-far, 0), corner(-far, far), corner(far, far), corner(far, 0)], 0.1);
        },
      };
      const focalPowerDpt = powerFor(waves);
      const image = formation(edge).image(settledAt(focalPowerDpt));
      const { workingFNumber } = traceSystem({ model, focalPowerDpt });
      // Samples by their distance from the edge, in pixels; then the Fourier sum of the steps between neighbours.
      const samples: { u: number; value: number }[] = [];
      for (let row = 60; row < size.heightPx - 60; row++) {
        for (let column = 60; column < size.widthPx - 60; column++) {
          const x = column - (size.widthPx - 1) / 2;
          const y = row - (size.heightPx - 1) / 2;
          const u = x * Math.cos(angle) + y * Math.sin(angle);
          if (Math.abs(u) < 30) samples.push({ u, value: image[row * size.widthPx + column]! });
        }
      }
      samples.sort((a, b) => a.u - b.u);
      for (const frequencyPerPx of [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]) {
        let real = 0;
        let imaginary = 0;
        for (let i = 1; i < samples.length; i++) {
          const a = samples[i - 1]!;
          const b = samples[i]!;
          const phase = Math.PI * frequencyPerPx * (a.u + b.u);
          real += (b.value - a.value) * Math.cos(phase);
          imaginary -= (b.value - a.value) * Math.sin(phase);
        }
        const measured = Math.hypot(real, imaginary) / 0.7;
        // A pixel seen across an edge at an angle: the product of its two sinc factors.
        const pitchMm = sensor.pixelPitchUm / 1000;
        const pixel = sinc(frequencyPerPx * Math.cos(angle)) * sinc(frequencyPerPx * Math.sin(angle));
        const lens = systemOtf({
          spatialFrequencyPerMm: frequencyPerPx / pitchMm,
          workingFNumber,
          defocusWaves: waves,
          wavelengthNm: light.wavelengthNm,
        });
        expect(Math.abs(measured - Math.abs(lens * pixel))).toBeLessThan(0.01);
      }
    },
  );

  it('closed form: marks 30 mm apart come out magnification × 30 mm apart, in focus and out of focus', () => {
    const marks: Scene = {
      name: 'marks',
      paint(canvas) {
        canvas.reflectance.fill(0.8);
        for (const xMm of [-15, 15]) {
          paintPolygon(
            canvas,
            [
              { xMm: xMm - 2, yMm: -3 },
              { xMm: xMm + 2, yMm: -3 },
              { xMm: xMm + 2, yMm: 3 },
              { xMm: xMm - 2, yMm: 3 },
            ],
            0.1,
          );
        }
      },
    };
    const imager = formation(marks);
    for (const focalPowerDpt of [-1.5, 0, 0.5, 1.5, 2.5]) {
      const image = imager.image(settledAt(focalPowerDpt));
      const centreOf = (from: number, until: number) => {
        let weight = 0;
        let moment = 0;
        for (let column = from; column < until; column++) {
          const dark = 0.8 - image[(size.heightPx >> 1) * size.widthPx + column]!;
          weight += dark;
          moment += dark * column;
        }
        return moment / weight;
      };
      const apartMm = (centreOf(160, 319) - centreOf(1, 160)) * (sensor.pixelPitchUm / 1000);
      expect(apartMm / 30).toBeCloseTo(stateAt(focalPowerDpt).magnification, 4);
    }
  });

  it('property: a lens that does not move gives the image again without computing it', () => {
    const imager = formation(bars(1));
    const first = imager.image(settledAt(0.5));
    const copy = first.slice();
    expect(imager.image(settledAt(0.5 + 1e-6))).toBe(first);
    expect(Array.from(imager.image(settledAt(0.9)))).not.toEqual(Array.from(copy));
    expect(Array.from(imager.image(settledAt(0.5)))).toEqual(Array.from(copy));
  });
});
