import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/base/index.js';
import { type EdgeMeasured, type EdgeResponse, type GreyImage, measureEdge, mtfAt } from '../../src/image/index.js';
import { type EdgeScene, edgeScene, sceneMtf } from './edge-scene.js';

const plain: EdgeScene = {
  widthPx: 100,
  heightPx: 120,
  angleDeg: 5,
  discRadiusPx: 0.9,
  gaussPx: 0.5,
  darkDn: 6000,
  brightDn: 42000,
  bitDepth: 16,
  fullWellE: 12000,
  readNoiseE: 4,
  seed: 1,
};

function measured(response: EdgeResponse): EdgeMeasured {
  if (response.kind === 'refused') throw new Error(`${response.reason}: ${response.message}`);
  return response;
}

const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
const quantile = (list: number[], share: number) =>
  [...list].sort((a, b) => a - b)[Math.floor(share * (list.length - 1))]!;

/** Errors of the MTF up to Nyquist and whether two standard deviations cover them. */
function errorsOf(response: EdgeMeasured, truth: (frequencyPerPx: number) => number) {
  const points = response.mtf.filter(({ frequencyPerPx }) => frequencyPerPx > 0.005 && frequencyPerPx < 0.505);
  const errors = points.map(({ frequencyPerPx, value }) => value - truth(frequencyPerPx));
  return {
    worst: Math.max(...errors.map(Math.abs)),
    covered: errors.filter((error, i) => Math.abs(error) <= 2 * points[i]!.std).length,
    count: errors.length,
  };
}

describe('measureEdge: closed forms', () => {
  // Derived: along a pixel row an ideal sampled edge has sinc(q)·sinc(q·tan a); our axis is the normal, f = q/cos a.
  it.each([2, 3, 5, 8, 10, (Math.atan(1 / 4) * 180) / Math.PI])(
    'closed form: an ideal area-sampled edge at %f° reads the pixel alone, to 0.001 (a plain e-SFR: 0.02)',
    (angleDeg) => {
      const image = edgeScene({
        ...plain,
        widthPx: 64,
        heightPx: 200,
        angleDeg,
        discRadiusPx: 0,
        gaussPx: 0,
        fullWellE: 0,
      });
      const response = measured(measureEdge({ image }));
      expect(Math.abs(response.edgeAngleDeg - angleDeg)).toBeLessThan(2e-4);
      const tilt = (angleDeg * Math.PI) / 180;
      for (const q of [0.1, 0.25, 0.4, 0.5]) {
        const read = mtfAt(response.mtf, q / Math.cos(tilt))!.value;
        expect(Math.abs(read - sinc(q) * sinc(q * Math.tan(tilt)))).toBeLessThan(0.001);
      }
    },
  );

  it('closed form: levels, contrast, noise and angle of a simulated edge', () => {
    const response = measured(measureEdge({ image: edgeScene(plain) }));
    expect(response.orientation).toBe('near-vertical');
    expect(Math.abs(response.edgeAngleDeg - 5)).toBeLessThan(4 * response.edgeAngleStdDeg);
    expect(response.darkDn / 6000).toBeCloseTo(1, 2);
    expect(response.brightDn / 42000).toBeCloseTo(1, 2);
    expect(response.contrast).toBeCloseTo(36 / 48, 2);
    const noiseOf = (grey: number) => (65535 / 12000) * Math.sqrt((grey * 12000) / 65535 + 16);
    expect(response.darkNoiseStdDn / noiseOf(6000)).toBeCloseTo(1, 1);
    expect(response.brightNoiseStdDn / noiseOf(42000)).toBeCloseTo(1, 1);
    expect(response.edgeBowPx).toBe(0);
  });

  it('closed form: MTF50 in line pairs per mm on the sensor and on the object', () => {
    const response = measured(measureEdge({ image: edgeScene(plain), pixelPitchUm: 3.45, magnification: -0.2 }));
    expect(response.mtf50SensorPerMm).toBeCloseTo(response.mtf50PerPx! / 0.00345, 9);
    expect(response.mtf50ObjectPerMm).toBeCloseTo((response.mtf50PerPx! / 0.00345) * 0.2, 9);
    expect(measured(measureEdge({ image: edgeScene(plain) })).mtf50SensorPerMm).toBeNull();
  });

  it('closed form: the edge spread function rises from 0 to 1, and its 10–90 % distance is that of a Gaussian', () => {
    const image = edgeScene({ ...plain, discRadiusPx: 0, gaussPx: 3, fullWellE: 0 });
    const { edgeSpreadFunction, riseDistancePx } = measured(measureEdge({ image }));
    expect(edgeSpreadFunction[0]!.fitted).toBeCloseTo(0, 3);
    expect(edgeSpreadFunction.at(-1)!.fitted).toBeCloseTo(1, 3);
    expect(riseDistancePx / (2.5631 * Math.sqrt(9 + 1 / 12))).toBeCloseTo(1, 2);
    for (const { measured: mean, fitted } of edgeSpreadFunction) if (mean !== null) expect(mean).toBeCloseTo(fitted, 2);
  });

  it('closed form: a strongly defocused edge follows the modulus through the sign changes of its OTF', () => {
    const scene = { ...plain, widthPx: 220, heightPx: 160, discRadiusPx: 16, gaussPx: 0.5 };
    const response = measured(measureEdge({ image: edgeScene(scene) }));
    expect(errorsOf(response, (f) => sceneMtf(scene, f)).worst).toBeLessThan(0.02);
    // Second lobe of 2 J1(z)/z: 0.1323 at z = 5.136.
    expect(mtfAt(response.mtf, 5.136 / (2 * Math.PI * 16))!.value).toBeCloseTo(0.132, 2);
  });
});

describe('measureEdge: random edges', () => {
  const random = seededRandom(20261124);
  const between = (a: number, b: number) => a + (b - a) * random.uniform();
  function randomScene(seed: number): EdgeScene {
    const bitDepth = seed % 2 ? 8 : 16;
    const full = 2 ** bitDepth - 1;
    return {
      widthPx: Math.round(between(80, 180)),
      heightPx: Math.round(between(80, 180)),
      angleDeg: between(2, 14) * (seed % 3 ? 1 : -1),
      discRadiusPx: between(0, 2.5),
      gaussPx: between(0.2, 1.2),
      darkDn: full * between(0.08, 0.25),
      brightDn: full * between(0.55, 0.85),
      bitDepth,
      fullWellE: between(5000, 20000),
      readNoiseE: between(2, 10),
      seed,
      offsetPx: between(-4, 4),
    };
  }

  it('recovery: error of the MTF, of MTF50, and 2 σ coverage over 60 edges of disc ∗ Gaussian ∗ pixel', () => {
    const worst: number[] = [];
    const halves: number[] = [];
    let covered = 0;
    let count = 0;
    for (let seed = 0; seed < 60; seed++) {
      const scene = randomScene(seed);
      const response = measured(measureEdge({ image: edgeScene(scene) }));
      const errors = errorsOf(response, (f) => sceneMtf(scene, f));
      worst.push(errors.worst);
      covered += errors.covered;
      count += errors.count;
      const half = Array.from({ length: 2000 }, (_, i) => i / 2000).find((f) => sceneMtf(scene, f) < 0.5);
      if (half) halves.push(Math.abs(response.mtf50PerPx! / (half - 1 / 4000) - 1));
    }
    expect(quantile(worst, 0.5)).toBeLessThan(0.005);
    expect(quantile(worst, 0.95)).toBeLessThan(0.013);
    expect(quantile(halves, 0.5)).toBeLessThan(0.004);
    expect(quantile(halves, 0.95)).toBeLessThan(0.012);
    expect(covered / count).toBeGreaterThan(0.9);
    expect(covered / count).toBeLessThan(0.995);
  });

  it('property: turning, mirroring and inverting the picture leave the MTF', () => {
    const image = edgeScene(plain);
    const base = measured(measureEdge({ image }));
    for (const [name, turn] of Object.entries(turns)) {
      const turned = measured(measureEdge({ image: turn(image) }));
      for (const f of [0.05, 0.1, 0.2, 0.35, 0.5]) {
        expect(Math.abs(mtfAt(turned.mtf, f)!.value - mtfAt(base.mtf, f)!.value), name).toBeLessThan(2e-4);
      }
      expect(turned.orientation).toBe(name.includes('transposed') ? 'near-horizontal' : 'near-vertical');
      expect(turned.edgeAngleDeg).toBeCloseTo(
        name === 'mirrored' || name === 'upside down' ? -base.edgeAngleDeg : base.edgeAngleDeg,
        3,
      );
    }
  });

  it('property: light that falls off by 20 % across or along the region stays out of the MTF', () => {
    for (const [across, along] of [
      [0.2, 0],
      [0, 0.2],
    ] as const) {
      const image = edgeScene(plain);
      image.data.forEach((value, i) => {
        const x = (i % 100) / 100 - 0.5;
        const y = Math.floor(i / 100) / 120 - 0.5;
        image.data[i] = value * (1 + across * x + along * y);
      });
      const { worst } = errorsOf(measured(measureEdge({ image })), (f) => sceneMtf(plain, f));
      expect(worst).toBeLessThan(0.02);
    }
  });
});

const remap = (
  image: GreyImage,
  width: number,
  height: number,
  from: (x: number, y: number) => [number, number],
): GreyImage => ({
  ...image,
  widthPx: width,
  heightPx: height,
  data: Uint16Array.from({ length: width * height }, (_, i) => {
    const [x, y] = from(i % width, Math.floor(i / width));
    return image.data[y * image.widthPx + x]!;
  }),
});
const turns: Record<string, (image: GreyImage) => GreyImage> = {
  transposed: (image) => remap(image, image.heightPx, image.widthPx, (x, y) => [y, x]),
  mirrored: (image) => remap(image, image.widthPx, image.heightPx, (x, y) => [image.widthPx - 1 - x, y]),
  'upside down': (image) => remap(image, image.widthPx, image.heightPx, (x, y) => [x, image.heightPx - 1 - y]),
  inverted: (image) => ({ ...image, data: image.data.map((value) => 60000 - value) }),
};

describe('measureEdge: refusals', () => {
  const reasonOf = (image: GreyImage, region?: Parameters<typeof measureEdge>[0]['region']) => {
    const response = measureEdge(region ? { image, region } : { image });
    if (response.kind === 'refused') expect(response.remedy.length).toBeGreaterThan(10);
    return response.kind === 'refused' ? response.reason : response.kind;
  };
  const paint = (value: (x: number, y: number) => number): GreyImage => {
    const random = seededRandom(3);
    const data = Uint8Array.from({ length: 120 * 120 }, (_, i) =>
      Math.min(255, Math.max(1, Math.round(value(i % 120, Math.floor(i / 120)) + 1.5 * random.normal()))),
    );
    return { widthPx: 120, heightPx: 120, bitDepth: 8, data };
  };
  const step = (d: number) => 0.5 * (1 + Math.tanh(d));

  it.each([
    ['angle-too-small', 0.3],
    ['angle-too-large', 22],
    ['angle-too-large', 45],
  ] as const)('refuses %s: %f°', (reason, angleDeg) => {
    expect(reasonOf(edgeScene({ ...plain, angleDeg }))).toBe(reason);
  });

  it('refuses regions that are too small', () => {
    const image = edgeScene(plain);
    expect(reasonOf(image, { xPx: 42, yPx: 10, widthPx: 12, heightPx: 60 })).toBe('region-too-small');
    expect(reasonOf(image, { xPx: 30, yPx: 50, widthPx: 40, heightPx: 20 })).toBe('region-too-small');
  });

  it('refuses a clipped bright or dark side', () => {
    expect(reasonOf(edgeScene({ ...plain, brightDn: 65500 }))).toBe('clipped');
    expect(reasonOf(edgeScene({ ...plain, darkDn: 2 }))).toBe('clipped');
  });

  it('recovery: a tail of the noise at the end of the range is no clipping', () => {
    const scene = { ...plain, bitDepth: 8, darkDn: 3, brightDn: 250, fullWellE: 20000 };
    const image = edgeScene(scene);
    expect(image.data.filter((value) => value === 255).length).toBeGreaterThan(0.002 * image.data.length);
    expect(errorsOf(measured(measureEdge({ image })), (f) => sceneMtf(scene, f)).worst).toBeLessThan(0.01);
  });

  it('refuses a plain area, and noise', () => {
    expect(reasonOf(paint(() => 90))).toBe('no-edge');
    const random = seededRandom(9);
    expect(reasonOf(paint(() => 90 + 20 * random.normal()))).toBe('no-edge');
  });

  it('refuses a bar, a stair, a corner and a cross', () => {
    const d = (x: number, y: number) => x - 60 - 0.09 * (y - 60);
    expect(reasonOf(paint((x, y) => 40 + 120 * (step(d(x, y) + 20) - step(d(x, y) - 20))))).toBe('two-edges');
    expect(reasonOf(paint((x, y) => 40 + 60 * (step(d(x, y) + 20) + step(d(x, y) - 20))))).toBe('two-edges');
    const corner = paint((x, y) => 40 + 120 * step(d(x, y)) * step(y - 60 + 0.09 * x));
    expect(reasonOf(corner)).not.toBe('measured');
    expect(['two-edges', 'no-edge']).toContain(reasonOf(paint((x, y) => (x < 60 !== y < 60 ? 160 : 40))));
  });

  it('refuses an edge whose blur does not fit the region', () => {
    expect(reasonOf(edgeScene({ ...plain, discRadiusPx: 30, widthPx: 60 }))).toBe('too-blurred');
  });

  it('refuses an edge in too much noise, and says how uncertain', () => {
    const scene = { ...plain, darkDn: 20000, brightDn: 24000, fullWellE: 400, heightPx: 40, widthPx: 60, angleDeg: 8 };
    expect(['too-noisy', 'no-edge']).toContain(reasonOf(edgeScene(scene)));
  });

  it('refuses a region outside the frame and a bad pitch by RangeError', () => {
    const image = edgeScene(plain);
    expect(() => measureEdge({ image, region: { xPx: 0, yPx: 0, widthPx: 101, heightPx: 20 } })).toThrow(
      /100 × 120 px/,
    );
    expect(() => measureEdge({ image, pixelPitchUm: 0 })).toThrow(/pixelPitchUm/);
  });
});

describe('mtfAt', () => {
  it('property: hits the points, is smooth between them, and ends at 1 cycle per pixel', () => {
    const mtf = Array.from({ length: 101 }, (_, i) => ({
      frequencyPerPx: i / 100,
      value: Math.exp(-2 * (i / 100) ** 2),
      std: 0.01,
    }));
    expect(mtfAt(mtf, 0.37)!.value).toBeCloseTo(mtf[37]!.value, 12);
    expect(mtfAt(mtf, 0.3733)!.value).toBeCloseTo(Math.exp(-2 * 0.3733 ** 2), 6);
    expect(mtfAt(mtf, 1)!.value).toBeCloseTo(mtf[100]!.value, 12);
    expect(mtfAt(mtf, 1.01)).toBeNull();
    expect(() => mtfAt(mtf, -0.1)).toThrow(/≥ 0/);
  });
});
