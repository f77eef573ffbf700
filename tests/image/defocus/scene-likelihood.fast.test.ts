import { describe, expect, it } from 'vitest';
import { type Random, seededRandom } from '../../../src/base/index.js';
import {
  expectedBlur,
  type FrameBlur,
  type RingBlurTable,
  ringBlurTable,
  ringSpectrometer,
  sceneLikelihood,
  sceneLikelihoodFast,
} from '../../../src/image/index.js';

/** An even and an odd number of rings. */
const sizes = [
  { widthPx: 256, heightPx: 256 },
  { widthPx: 128, heightPx: 64 },
];
const largest = 40;
const sameWithin = 1e-11;

const off = (a: number, b: number): number => Math.abs(a - b) / Math.max(1, Math.abs(a));

/** Scenes bright and dark, gratings among them: some rings far above the others, some with few coefficients. */
function drawnFrames({
  count,
  table,
  rings,
  random,
}: {
  count: number;
  table: RingBlurTable;
  rings: ReturnType<typeof ringSpectrometer>['rings'];
  random: Random;
}) {
  const levelDn2 = 10 ** (4 * random.uniform() - 1);
  const isGrating = random.uniform() < 0.3;
  const scene = rings.frequenciesPerPx.map(
    (f) => levelDn2 * (f / 0.1) ** -2.4 * Math.exp(random.normal()) * (isGrating && random.uniform() < 0.2 ? 300 : 1),
  );
  return Array.from({ length: count }, () => {
    const shares = new Float64Array(scene.length);
    table.read({ blurRadiusPx: 50 * (random.uniform() - 0.5), blurRadiusStdPx: 0.2 }, shares);
    const noiseDn2 = 0.1 + 5 * random.uniform();
    return {
      noiseDn2,
      powersDn2: scene.map((power, ring) => (power * shares[ring]! + noiseDn2) * Math.exp(0.1 * random.normal())),
      coefficientCounts: rings.coefficientCounts.map((n) => Math.max(1, n * random.uniform())),
    };
  });
}

const drawnBlur = (random: Random): FrameBlur => {
  const count = random.uniform() < 0.7 ? 1 : 1 + Math.floor(5 * random.uniform());
  return {
    count,
    // Also beyond the table's end, and no blur at all.
    radiiPx: Float64Array.from({ length: count }, () => (random.uniform() < 0.05 ? 0 : 25 * random.normal())),
    stdsPx: Float64Array.from({ length: count }, () => 0.05 * 2 ** (7 * random.uniform())),
    leakRatio: random.uniform(),
    errorRatio: 0.2 * random.uniform(),
  };
};

describe.each(sizes)('compiled likelihood of an unknown scene, region of $widthPx × $heightPx px', (size) => {
  const { rings } = ringSpectrometer(size);
  const table = ringBlurTable({ rings, cutoffPerPx: 1.2, maxBlurRadiusPx: largest });
  const [readable, compiled] = [sceneLikelihood(rings), sceneLikelihoodFast(rings)];

  it('property: equals the readable version for hypotheses of every kind', () => {
    const random = seededRandom(21);
    for (const count of [1, 2, 3, 5, 9]) {
      for (let set = 0; set < 8; set++) {
        const frames = drawnFrames({ count, table, rings, random });
        const [one, other] = [readable.ofBlurs(frames, table), compiled.ofBlurs(frames, table)];
        for (let i = 0; i < 20; i++) {
          const hypothesis = {
            frames: frames.map(() => drawnBlur(random)),
            sphericalWaves: random.uniform() < 0.2 ? 0 : 0.3 * random.normal(),
            modelErrorRatio: 0.02 + 0.4 * random.uniform(),
          };
          expect(off(one(hypothesis), other(hypothesis)), `${count} frames, set ${set}`).toBeLessThan(sameWithin);
        }
      }
    }
  });

  it('property: needs the same scene as the readable version', () => {
    const random = seededRandom(22);
    for (let set = 0; set < 20; set++) {
      const frames = drawnFrames({ count: 3, table, rings, random });
      const blurs = frames.map(() => {
        const blur = { ...expectedBlur(rings.samples.length), leakRatio: random.uniform(), errorRatio: 0.1 };
        table.read({ blurRadiusPx: 20 * random.uniform(), blurRadiusStdPx: 0.3 }, blur.shares, blur.spreads);
        return blur;
      });
      const [one, other] = [readable, compiled].map((likelihood) => likelihood.fit(frames, blurs, 0.1));
      expect(off(one!.logLikelihood, other!.logLikelihood)).toBeLessThan(sameWithin);
      one!.logPowers.forEach((log, ring) => {
        expect(off(log, other!.logPowers[ring]!), `ring ${ring}`).toBeLessThan(sameWithin);
        expect(off(one!.logVariances[ring]!, other!.logVariances[ring]!), `ring ${ring}`).toBeLessThan(sameWithin);
      });
    }
  });

  it('property: questions about two sets of frames may be mixed', () => {
    const random = seededRandom(23);
    const sets = [2, 3].map((count) => drawnFrames({ count, table, rings, random }));
    const hypotheses = sets.map((frames) => ({
      frames: frames.map(() => drawnBlur(random)),
      sphericalWaves: 0.1,
      modelErrorRatio: 0.1,
    }));
    const [first, second] = sets.map((frames) => compiled.ofBlurs(frames, table));
    const alone = [first!(hypotheses[0]!), second!(hypotheses[1]!)];
    expect([first!(hypotheses[0]!), second!(hypotheses[1]!)]).toEqual(alone);
  });

  it('refuses more frames, or blurs of one frame, than it has room for', () => {
    const frames = drawnFrames({ count: 33, table, rings, random: seededRandom(24) });
    const blur = (count: number) => ({ ...drawnBlur(seededRandom(25)), count, radiiPx: new Float64Array(count) });
    const ask = (blurs: number, of: typeof frames) =>
      compiled.ofBlurs(of, table)({ frames: of.map(() => blur(blurs)), sphericalWaves: 0, modelErrorRatio: 0.1 });
    expect(() => ask(1, frames)).toThrow('frames.length is 33; allowed: a finite number ≥ 1 and ≤ 32');
    expect(() => ask(129, frames.slice(0, 2))).toThrow('count is 129; allowed: a finite number ≥ 1 and ≤ 128');
  });
});
