import type { RingBlurTable } from './ring-blur-table.js';
import type { SpectrumRings } from './spectrum-rings.js';

/** A frame as the likelihood sees it. */
export interface SeenSpectrum {
  powersDn2: Float64Array;
  /** Independent coefficients behind each; see RingSpectrum. */
  coefficientCounts: Float64Array;
  /** Power of white noise in every ring. */
  noiseDn2: number;
}

/** How well a hypothesis explains the frames, and what scene it needs. */
export interface SceneFit {
  logLikelihood: number;
  /** Natural logarithm of the scene's power in each ring, before any blur; used again by the next call. */
  logPowers: Float64Array;
  /** Variance of those, as far as frames and prior tell. */
  logVariances: Float64Array;
}

/** What a hypothesis says of one frame. */
export interface ExpectedBlur {
  /** What it leaves of the scene's power in each ring. */
  shares: Float64Array;
  /** Variance of that among the frequencies of a ring, relative to its square. */
  spreads: Float64Array;
  /** Blur radius over the region's side: how much of the region's light comes from beyond its border. */
  leakRatio: number;
  /** Relative error of the shares in this frame, beyond that of the model. */
  errorRatio: number;
}

/** Blurs that a frame may have had, all alike: one, or those of a moving lens. */
export interface FrameBlur {
  /** Of the numbers in the arrays, as many count. */
  count: number;
  /** Signed, as in RingBlur. */
  radiiPx: Float64Array;
  /** How far each may be off, 1σ. */
  stdsPx: Float64Array;
  leakRatio: number;
  errorRatio: number;
}

/** What a hypothesis says of all frames; may be filled anew for the next one. */
export interface BlurHypothesis {
  frames: readonly FrameBlur[];
  sphericalWaves: number;
  modelErrorRatio: number;
}

/** Evaluates hypotheses on rings of one region size; holds work space. */
export interface SceneLikelihood {
  readonly frequenciesPerPx: Float64Array;
  /** Takes frames, for many hypotheses of their blur as the table has it: log-likelihood of each. */
  ofBlurs(frames: readonly SeenSpectrum[], table: RingBlurTable): (hypothesis: BlurHypothesis) => number;
  /** `modelError`: relative error of the shares, beyond what their spread and the leak make. */
  fit(frames: readonly SeenSpectrum[], blurs: readonly ExpectedBlur[], modelError: number): SceneFit;
}

/** Relative error of shares that are nearly nothing, more than that of the others: what no model of the pupil tells. */
const sidelobeError = 0.15;
/** Coefficients of a scene scatter about their ring's mean by all of it. */
const scatterOfCoefficients = 2;
/** Variance of a coefficient for each part of the region's side that light leaks across, and while there is none. */
const leakWeight = 3;
const leastLeak = 0.03;

/** Scatter of a scene's rings about a straight power law, in natural logarithms of power. */
const scatter = 0.9;
/** Degrees of freedom of that scatter (Student's t): lines and gratings lie far off the law. */
const freedom = 3;
/** Fall of a usual scene’s power with frequency, f^−exponent, and how scenes differ. */
const usualExponent = 2.4;
const exponentStd = 0.7;
/** How scenes differ in contrast, in natural logarithms of power. */
const levelStd = 5;
/** Frequency at which the level of the power law is told. */
const pivotPerPx = 0.1;
export const logPivot = Math.log(pivotPerPx);
const sweeps = 2;
const newtonSteps = 2;
const longestStep = 3;
const closeEnough = 0.03;
/** Sum of weights below which no line is laid. */
const leastWeight = 0.3;
const leastPowerDn2 = 1e-9;

/**
 * Likelihood that frames of one scene were blurred as a hypothesis says, with the scene itself unknown.
 *
 * Model    power of frame k in a ring is about S·share_k + noise. Rings of S follow a power law with scatter of long tails
 *          (Student's t) in their logarithm; level all but free, exponent about 2.4: so the absolute amount of detail counts,
 *          and a scene that would have to be huge under a strong blur is unlikely. S by Newton's method, marginal by Laplace's
 * Formula  −Σ n_k·(c − 1 − ln c) + ½ Σ ln(n_k/n), c = measured/expected power, 1/n_k = (1 − p²)/n + p²·ε², p: signal's share
 *          of the expected power, ε: relative error of the model: frames count no more than it can be trusted; with the
 *          scene's prior, and − ½ Σ ln(1 + scatter²·information)
 * Returns  log-likelihood relative to a perfect fit, ≤ 0 but for the prior’s part.
 * Cost     some microseconds; sceneLikelihoodFast takes a fifth.
 * Trust    scenes of one spatial frequency (gratings) break the power law; the frames then outweigh it.
 * Source   derived in docs/procedures/model-focus.md; prior: power spectra of natural images fall as f^−2 to f^−3 (common practice, no source)
 * Checked  recovery and property: tests/image/defocus/scene-likelihood.test.ts
 */
export function sceneLikelihood(rings: SpectrumRings): SceneLikelihood {
  const count = rings.frequenciesPerPx.length;
  const logFrequencies = rings.frequenciesPerPx.map((f) => Math.log(f) - logPivot);
  const logPowers = new Float64Array(count);
  const logVariances = new Float64Array(count);
  const informations = new Float64Array(count);
  const ownCounts = rings.coefficientCounts;
  const variance = scatter * scatter;
  /** Ring by ring, frame by frame: measured power, share, and variance of the relative power but for the noise. */
  let powers = new Float64Array(0);
  let shares = new Float64Array(0);
  let errors = new Float64Array(0);
  let noises = new Float64Array(0);
  const line = powerLaw(variance);

  const likelihood: SceneLikelihood = {
    frequenciesPerPx: rings.frequenciesPerPx,
    ofBlurs(frames, table) {
      const expected = frames.map((): ExpectedBlur => expectedBlur(count));
      const part = expectedBlur(count);
      return ({ frames: blurs, sphericalWaves, modelErrorRatio }) => {
        expected.forEach((to, k) => {
          const { count: alike, radiiPx, stdsPx, leakRatio, errorRatio } = blurs[k]!;
          Object.assign(to, { leakRatio, errorRatio });
          to.shares.fill(0);
          to.spreads.fill(0);
          for (let i = 0; i < alike; i++) {
            const asked = { blurRadiusPx: radiiPx[i]!, blurRadiusStdPx: stdsPx[i]!, sphericalWaves };
            table.read(asked, part.shares, part.spreads);
            for (let ring = 0; ring < count; ring++) {
              to.shares[ring]! += part.shares[ring]! / alike;
              to.spreads[ring]! += part.spreads[ring]! / alike;
            }
          }
        });
        return likelihood.fit(frames, expected, modelErrorRatio).logLikelihood;
      };
    },
    fit(frames, blurs, modelError) {
      const frameCount = frames.length;
      if (errors.length < frameCount * count) {
        powers = new Float64Array(frameCount * count);
        shares = new Float64Array(frameCount * count);
        errors = new Float64Array(frameCount * count);
        noises = new Float64Array(frameCount);
      }
      for (let k = 0; k < frameCount; k++) {
        const { shares: own, spreads, leakRatio, errorRatio } = blurs[k]!;
        const { coefficientCounts, powersDn2, noiseDn2 } = frames[k]!;
        const leak = Math.min(scatterOfCoefficients, leastLeak + leakWeight * leakRatio);
        noises[k] = noiseDn2;
        for (let ring = 0; ring < count; ring++) {
          const at = ring * frameCount + k;
          const share = own[ring]!;
          const error = modelError + errorRatio + sidelobeError * (1 - Math.sqrt(share));
          powers[at] = powersDn2[ring]!;
          shares[at] = share;
          errors[at] = error * error + (scatterOfCoefficients * spreads[ring]! + leak) / coefficientCounts[ring]!;
        }
      }
      line.clear();
      let unseenLevel = Math.log(1e12);
      for (let ring = 0; ring < count; ring++) {
        let weighted = 0;
        let square = 0;
        let n = 0;
        const from = ring * frameCount;
        const perCount = 1 / ownCounts[ring]!;
        for (let k = 0; k < frameCount; k++) {
          const share = shares[from + k]!;
          const noise = noises[k]!;
          const weight = share / (noise * noise);
          weighted += weight * (powers[from + k]! - noise);
          square += weight * share;
          n = Math.max(n, frames[k]!.coefficientCounts[ring]!);
        }
        const hidden = 0.5 / Math.sqrt(n * square);
        const isSeen = weighted / square > hidden;
        const power = Math.max(weighted / square, hidden, leastPowerDn2);
        let information = 0;
        for (let k = 0; k < frameCount; k++) {
          const signal = power * shares[from + k]!;
          const part = signal / (signal + noises[k]!);
          const squared = part * part;
          information += squared / ((1 - squared) * perCount + squared * errors[from + k]!);
        }
        logPowers[ring] = Math.log(power);
        informations[ring] = information;
        const level = logPowers[ring]! + usualExponent * logFrequencies[ring]!;
        if (isSeen) line.add(logFrequencies[ring]!, logPowers[ring]!, information);
        else if (level < unseenLevel) unseenLevel = level;
      }
      // Without any signal the scene lies below what each ring would show.
      line.reset(unseenLevel);
      for (let sweep = 0; sweep < sweeps; sweep++) {
        line.settle();
        line.clear();
        const { level, exponent } = line;
        for (let ring = 0; ring < count; ring++) {
          const usual = level - exponent * logFrequencies[ring]!;
          const from = ring * frameCount;
          const perCount = 1 / ownCounts[ring]!;
          // Where the frames hardly tell, begin at the usual power, unless that would show.
          let log =
            sweep === 0 && informations[ring]! * variance < 0.25 ? Math.min(usual, logPowers[ring]!) : logPowers[ring]!;
          let information = 0;
          for (let step = 0; step < newtonSteps; step++) {
            const power = Math.exp(log);
            let score = 0;
            information = 0;
            for (let k = 0; k < frameCount; k++) {
              const signal = power * shares[from + k]!;
              const expected = signal + noises[k]!;
              const part = signal / expected;
              const squared = part * part;
              const trusted = part / ((1 - squared) * perCount + squared * errors[from + k]!);
              score += trusted * (powers[from + k]! / expected - 1);
              information += trusted * part;
            }
            const off = log - usual;
            const pull = (freedom + 1) / (freedom * variance + off * off);
            const curvature = information + pull + (score < 0 ? -0.3 * score : 0);
            const change = (score - off * pull) / curvature;
            log += Math.max(-longestStep, Math.min(longestStep, change));
            if (Math.abs(change) < closeEnough) break;
          }
          logPowers[ring] = log;
          informations[ring] = information;
          // What the frames alone say: the prior's pull taken off again.
          const off = log - usual;
          const pull = (freedom + 1) / (freedom * variance + off * off);
          const own = information > 1e-6 ? log + (off * pull) / information : usual;
          line.add(logFrequencies[ring]!, Math.max(usual - 20, Math.min(usual + 20, own)), information, 1 / pull);
        }
      }
      line.settle();
      let total = line.logPrior();
      for (let ring = 0; ring < count; ring++) {
        const power = Math.exp(logPowers[ring]!);
        const from = ring * frameCount;
        const perCount = 1 / ownCounts[ring]!;
        let trusts = 1;
        for (let k = 0; k < frameCount; k++) {
          const signal = power * shares[from + k]!;
          const expected = signal + noises[k]!;
          const part = signal / expected;
          const squared = part * part;
          const ratio = Math.max(leastPowerDn2, powers[from + k]!) / expected;
          const trusted = 1 / ((1 - squared) * perCount + squared * errors[from + k]!);
          trusts *= trusted * perCount;
          total -= trusted * (ratio - 1 - Math.log(ratio));
        }
        total += 0.5 * Math.log(trusts);
        const off = logPowers[ring]! - (line.level - line.exponent * logFrequencies[ring]!);
        const told = 1 + variance * informations[ring]!;
        total -= ((freedom + 1) / 2) * Math.log(1 + (off * off) / (freedom * variance)) + 0.5 * Math.log(told);
        logVariances[ring] = variance / told;
      }
      return { logLikelihood: total, logPowers, logVariances };
    },
  };
  return likelihood;
}

/** Room for what a hypothesis says of a frame. */
export const expectedBlur = (rings: number): ExpectedBlur => ({
  shares: new Float64Array(rings),
  spreads: new Float64Array(rings),
  leakRatio: 0,
  errorRatio: 0,
});

/** Straight line through the rings' log powers: level free, exponent held by its prior. */
function powerLaw(variance: number) {
  let weights = 0;
  let first = 0;
  let second = 0;
  let values = 0;
  let products = 0;
  const prior = 1 / exponentStd ** 2;
  const levelPrior = 1 / levelStd ** 2;
  const law = {
    level: 0,
    exponent: usualExponent,
    /** Where to stay while nothing is known. */
    reset(level: number) {
      law.level = level;
      law.exponent = usualExponent;
    },
    clear() {
      weights = first = second = values = products = 0;
    },
    add(logFrequency: number, logPower: number, information: number, scatterVariance = variance) {
      const weight = 1 / (scatterVariance + 1 / Math.max(information, 1e-9));
      weights += weight;
      first += weight * logFrequency;
      second += weight * logFrequency * logFrequency;
      values += weight * logPower;
      products += weight * logFrequency * logPower;
    },
    settle() {
      const determinant = law.determinant();
      if (weights < leastWeight) return;
      const pull = prior * usualExponent - products;
      law.level = (values * (second + prior) + first * pull) / determinant;
      law.exponent = (weights * pull + first * values) / determinant;
    },
    determinant: () => weights * (second + prior) - first * first,
    /** Of exponent and, as far as they are told, of both unknowns. */
    logPrior: () =>
      -0.5 * prior * (law.exponent - usualExponent) ** 2 -
      0.5 * Math.log(((weights + levelPrior) * (second + prior) - first * first) / (prior * levelPrior)),
  };
  return law;
}
