import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readNoiseLevels } from '../../src/app/index.js';
import { seededRandom } from '../../src/base/index.js';
import { type GreyImage, levelNoiseMeter, type NoiseLevel, photonTransfer } from '../../src/image/index.js';
import { fitStraightLine } from '../../src/image/noise/straight-line.js';

interface Camera {
  gainDnPerE: number;
  readNoiseE: number;
  fullWellE: number;
  blackDn: number;
  bitDepth: number;
  darkCurrentEPerS: number;
  darkNonUniformityE: number;
  responseNonUniformity: number;
}

const camera: Camera = {
  gainDnPerE: 0.35,
  readNoiseE: 6,
  fullWellE: 10_500,
  blackDn: 60,
  bitDepth: 12,
  darkCurrentEPerS: 400,
  darkNonUniformityE: 4,
  responseNonUniformity: 0.01,
};

const [widthPx, heightPx] = [120, 90];
const whole = { xPx: 0, yPx: 0, widthPx, heightPx };

/** Levels of a simulated camera in the linear model; electrons are drawn with the variance of Poisson's law. */
function levelsOf(
  {
    exposuresMs,
    darkMs,
    rateEPerMs,
    frames = 2,
    flicker = 0,
  }: { exposuresMs: number[]; darkMs: number[]; rateEPerMs: number; frames?: number; flicker?: number },
  seed: number,
  of: Camera = camera,
): NoiseLevel[] {
  const random = seededRandom(seed);
  const pattern = Array.from({ length: widthPx * heightPx }, () => ({
    darkE: of.darkNonUniformityE * random.normal(),
    response: 1 + of.responseNonUniformity * random.normal(),
  }));
  const level = (exposureMs: number, dark: boolean): NoiseLevel => {
    const meter = levelNoiseMeter(whole);
    for (let frame = 0; frame < frames; frame++) {
      const light = dark ? 0 : rateEPerMs * exposureMs * (1 + flicker * random.normal());
      const data = Uint16Array.from(pattern, ({ darkE, response }) => {
        const mean = light * response + (of.darkCurrentEPerS * exposureMs) / 1000;
        const charge = Math.min(of.fullWellE, mean + Math.sqrt(mean) * random.normal());
        const value = of.blackDn + of.gainDnPerE * (charge + darkE + of.readNoiseE * random.normal());
        return Math.max(0, Math.min(2 ** of.bitDepth - 1, Math.round(value)));
      });
      meter.add({ widthPx, heightPx, bitDepth: of.bitDepth, data });
    }
    return { ...meter.result(), exposureMs, dark };
  };
  return [...darkMs.map((ms) => level(ms, true)), ...exposuresMs.map((ms) => level(ms, false))];
}

const exposuresMs = [0.5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14];
const ladder = { exposuresMs, darkMs: [0.1, 50], rateEPerMs: 1000 };

function measured(levels: readonly NoiseLevel[]) {
  const result = photonTransfer(levels);
  if (result.kind === 'refused') throw new Error(result.message);
  return result;
}

describe('levelNoiseMeter', () => {
  it('closed form: of two frames, half the mean squared difference less that of the means', () => {
    const frame = (values: number[]): GreyImage => ({
      widthPx: 4,
      heightPx: 1,
      bitDepth: 8,
      data: Uint8Array.from(values),
    });
    const meter = levelNoiseMeter({ xPx: 0, yPx: 0, widthPx: 4, heightPx: 1 });
    meter.add(frame([10, 12, 14, 0]));
    meter.add(frame([12, 12, 13, 1]));
    const result = meter.result();
    const halfSquares = (4 + 0 + 1 + 1) / 8;
    const flicker = 0.5 * (9.5 - 9) ** 2 - halfSquares / 4;
    expect(result.temporalVarianceDn2).toBeCloseTo(halfSquares - Math.max(0, flicker), 12);
    expect([result.meanDn, result.frameCount, result.blackFraction]).toEqual([9.25, 2, 1 / 8]);
  });

  it('property: flicker of the whole frame is taken off the noise and stated', () => {
    const still = levelsOf({ exposuresMs: [4], darkMs: [], rateEPerMs: 1000, frames: 4 }, 3)[0]!;
    const flickering = levelsOf({ exposuresMs: [4], darkMs: [], rateEPerMs: 1000, frames: 4, flicker: 0.02 }, 3)[0]!;
    expect(flickering.temporalVarianceDn2 / still.temporalVarianceDn2).toBeCloseTo(1, 1);
    expect(flickering.flickerStdDn).toBeGreaterThan(5);
    expect(still.flickerStdDn).toBeLessThan(1);
  });

  it('refuses a single frame', () => {
    expect(() => levelNoiseMeter(whole).result()).toThrow(/at least 2/);
  });
});

describe('photonTransfer', () => {
  it('recovery: gain, read noise, black level, full well, dark current, DSNU and PRNU of simulated cameras', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const result = measured(levelsOf(ladder, seed));
      const near = (found: { value: number; std: number | null } | null, truth: number, share: number) => {
        expect(found).not.toBeNull();
        expect(Math.abs(found!.value - truth)).toBeLessThan(3.5 * found!.std! + 1e-9);
        expect(Math.abs(found!.value / truth - 1)).toBeLessThan(share);
      };
      near(result.gainDnPerE, camera.gainDnPerE, 0.02);
      near(result.readNoiseE, camera.readNoiseE, 0.05);
      near(result.blackLevelDn, camera.blackDn, 0.002);
      near(result.darkCurrentEPerS, camera.darkCurrentEPerS, 0.1);
      near(result.darkNonUniformityE, camera.darkNonUniformityE, 0.1);
      expect(result.responseNonUniformity!.value).toBeCloseTo(camera.responseNonUniformity, 2.5);
      near(result.fullWellE, camera.fullWellE, 0.02);
      // The largest variance lies at the last level before the well is full for part of the pixels.
      const shortE = camera.fullWellE - result.saturationCapacityE!.value;
      expect(shortE).toBeGreaterThan(0);
      expect(shortE).toBeLessThan(2 * 1000);
      expect(result.fit.reducedChiSquare!).toBeLessThan(3);
      expect(result.cautions).toEqual([]);
    }
  });

  it('recovery: the stated uncertainty of the gain covers the truth (40 cameras, 2 σ)', () => {
    const small = { exposuresMs: [1, 2, 4, 6], darkMs: [0.1], rateEPerMs: 1000 };
    const outside = Array.from({ length: 40 }, (_, i) => measured(levelsOf(small, 100 + i)).gainDnPerE).filter(
      ({ value, std }) => Math.abs(value - camera.gainDnPerE) > 2 * std!,
    );
    expect(outside.length).toBeLessThanOrEqual(6);
  });

  it('recovery: without dark frames the exposures give the black level; without both there is none', () => {
    const lit = levelsOf({ ...ladder, darkMs: [] }, 2, { ...camera, darkCurrentEPerS: 0 });
    const result = measured(lit);
    expect(Math.abs(result.blackLevelDn!.value - camera.blackDn)).toBeLessThan(1);
    expect(Math.abs(result.readNoiseE!.value / camera.readNoiseE - 1)).toBeLessThan(0.15);
    const unknown = measured(lit.map((level) => ({ ...level, exposureMs: null })));
    expect([unknown.blackLevelDn, unknown.readNoiseE, unknown.fullWellE]).toEqual([null, null, null]);
    expect(unknown.gainDnPerE.value).toBeCloseTo(result.gainDnPerE.value, 10);
    expect(unknown.cautions.join()).toMatch(/black level is not known/);
  });

  it('property: gamma, clipped blacks, no saturation and a coarse bit depth are cautioned against', () => {
    const levels = levelsOf(ladder, 4);
    const bent = levels.map((level) => ({
      ...level,
      temporalVarianceDn2: level.temporalVarianceDn2 * (level.meanDn / 1000) ** 0.3,
    }));
    expect(measured(bent).cautions.join()).toMatch(/gamma/);
    const clipped = measured(levelsOf(ladder, 4, { ...camera, blackDn: 1 }));
    expect(clipped.cautions.join()).toMatch(/clipped at zero/);
    const dim = measured(levelsOf({ ...ladder, exposuresMs: [1, 2, 3] }, 4));
    expect([dim.saturationDn, dim.saturationCapacityE, dim.fullWellE]).toEqual([null, null, null]);
    expect(dim.cautions.join()).toMatch(/not reached/);
    const coarse = measured(levelsOf(ladder, 4, { ...camera, gainDnPerE: 0.02, bitDepth: 8, blackDn: 8 }));
    expect(coarse.cautions.join()).toMatch(/rounding/);
  });

  it('refuses too few levels, copies of one frame, and levels that do not differ', () => {
    const levels = levelsOf(ladder, 5);
    expect(photonTransfer(levels.slice(0, 2))).toMatchObject({ kind: 'refused', reason: 'too-few-levels' });
    expect(photonTransfer([])).toMatchObject({ kind: 'refused', reason: 'too-few-levels' });
    const copies = levels.map((level) => ({ ...level, temporalVarianceDn2: 0, temporalVarianceStdDn2: 0 }));
    expect(photonTransfer(copies)).toMatchObject({ kind: 'refused', reason: 'no-slope', remedy: expect.any(String) });
    const same = Array.from({ length: 5 }, () => levels[5]!);
    expect(photonTransfer(same)).toMatchObject({ kind: 'refused', reason: 'too-few-levels' });
  });
});

describe('frames made by numpy', () => {
  it('reference: line and means equal numpy’s of the same frames; the true camera lies within the uncertainty', async () => {
    const { levels } = await readNoiseLevels(['references/noise']);
    const { camera: truth, numpy, levels: theirs } = JSON.parse(readFileSync('references/noise/truth.json', 'utf8'));
    for (const [i, level] of levels.entries()) {
      expect(level.meanDn).toBeCloseTo(theirs[i].meanDn, 9);
      expect(Math.abs(level.temporalVarianceDn2 / theirs[i].varianceDn2 - 1)).toBeLessThan(0.001);
      expect([level.dark, level.exposureMs]).toEqual([!theirs[i].lit, theirs[i].exposureMs]);
    }
    const result = measured(levels);
    expect(result.fit.levelCount).toBe(numpy.usedLevels);
    expect(Math.abs(result.gainDnPerE.value / numpy.gainDnPerE - 1)).toBeLessThan(2e-4);
    expect(Math.abs(result.gainDnPerE.std! / numpy.gainStdDnPerE - 1)).toBeLessThan(2e-3);
    expect(result.blackLevelDn!.value).toBeCloseTo(numpy.blackLevelDn, 9);
    expect(result.saturationDn!.value).toBeCloseTo(numpy.saturationDn, 9);
    expect(Math.abs(result.readNoiseE!.value / numpy.readNoiseE - 1)).toBeLessThan(2e-4);
    for (const name of ['gainDnPerE', 'readNoiseE', 'blackLevelDn', 'fullWellE', 'darkCurrentEPerS'] as const) {
      const { value, std } = result[name]!;
      expect(Math.abs(value - truth[name]) / std!, name).toBeLessThan(3);
    }
  });
});

describe('fitStraightLine', () => {
  it('closed form: points on a line give it back, with the textbook uncertainty', () => {
    const line = fitStraightLine([0, 1, 2, 3].map((x) => ({ x, y: 2 + 3 * x, std: 0.5 })));
    expect([line.slope, line.intercept, line.reducedChiSquare]).toEqual([3, 2, 0]);
    expect(line.slopeVariance).toBeCloseTo(0.25 / 5, 12); // s²/Σ(x − x̄)²
    expect(line.interceptVariance).toBeCloseTo(0.25 * (1 / 4 + 1.5 ** 2 / 5), 12);
    expect(line.covariance).toBeCloseTo((-0.25 * 1.5) / 5, 12);
  });
});
