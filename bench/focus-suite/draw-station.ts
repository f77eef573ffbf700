import type { Random } from '../../src/base/index.js';
import { stepSettlingTimeMs, workingDistanceAt } from '../../src/optics/index.js';
import { layoutModelOf, readStation, type Station } from '../../src/station/index.js';

/** What a drawn station has to be like. */
export interface StationWish {
  powerMinDpt: number;
  powerMaxDpt: number;
  /** From a command until a plain step has settled to 2 %, dead time included. */
  responseMs: number;
  bitDepth: 8 | 12;
  /** Gain of the sensor over that which puts full well at full scale. */
  analogGain: number;
  exposureMs: number;
}

/** Frame of every case, and the region in it. */
export const framePx = 384;
export const regionPx = 256;

const pick = <T>(random: Random, list: readonly T[]): T => list[Math.floor(random.uniform() * list.length)]!;
const between = (random: Random, low: number, high: number): number => low + (high - low) * random.uniform();
const logBetween = (random: Random, low: number, high: number): number => low * (high / low) ** random.uniform();

/** Radius of the blur disc, in pixels, at one end of the powers with best focus at the other. */
const blurRadiusPx = { low: 14, high: 78 };

/** A station of invented parts whose blur per dioptre, light and response are drawn anew. */
export function drawStation(random: Random, wish: StationWish): Station {
  const { powerMinDpt, powerMaxDpt, responseMs } = wish;
  const spanDpt = powerMaxDpt - powerMinDpt;
  const slopePxPerDpt = logBetween(random, blurRadiusPx.low, blurRadiusPx.high) / spanDpt;
  const { focalLengthMm, pixelPitchUm, fNumber } = drawLens(random, slopePxPerDpt);
  const dampingRatio = pick(random, [0.35, 0.6, 0.8, 1]);
  const deadTimeMs = Math.min(2, 0.15 * responseMs);
  const settlingAt100HzMs = stepSettlingTimeMs({
    fraction: 0.02,
    deadTimeMs: 0,
    naturalFrequencyHz: 100,
    dampingRatio,
  })!;
  const fullWellE = pick(random, [6000, 10_000, 20_000]);
  const halfWidthDpt = 0.55 / slopePxPerDpt;
  const hysteresisDpt = random.uniform() < 0.3 ? 0 : halfWidthDpt * logBetween(random, 0.2, 4);
  const ringDistanceMm = 1000 / (0.5 - Math.min(0, powerMinDpt));
  const source = 'invented';
  const text = JSON.stringify({
    station: 'suite',
    format: 1,
    invented: true,
    task: {
      description: 'Find best focus.',
      nearMm: 100,
      farMm: 2000,
      smallestFeatureMm: 0.2,
      fieldWidthMm: 10,
      fieldHeightMm: 10,
      cycleTimeMs: 1000,
      temperatureMinDegC: 20,
      temperatureMaxDegC: 30,
    },
    parts: {
      sensor: {
        name: 'Sensor',
        source,
        widthPx: framePx,
        heightPx: framePx,
        pixelPitchUm,
        bitDepth: wish.bitDepth,
        quantumEfficiency: 0.6,
        gainDnPerE: Number(((wish.analogGain * 2 ** wish.bitDepth) / fullWellE).toPrecision(3)),
        fullWellE,
        readNoiseE: pick(random, [2.5, 4, 7]),
        blackLevelDn: wish.bitDepth === 8 ? 2 : 32,
        nonUniformity: pick(random, [0.003, 0.006, 0.01]),
        frameRateHz: 100,
        readoutMs: pick(random, [2, 5, 8]),
      },
      fixedLens: {
        name: 'Lens',
        source,
        focalLengthMm,
        fNumberMin: 1.4,
        fNumberMax: 32,
        pupilMagnification: 1,
        frontToPrincipalMm: 10,
        wavefrontErrorRmsWaves: 0.02,
      },
      tunableLens: {
        name: 'Tunable lens',
        source,
        clearApertureMm: 40,
        powerMinDpt,
        powerMaxDpt,
        frontToPlaneMm: 5,
        controlStepDpt: Number((0.04 * halfWidthDpt).toPrecision(1)),
        repeatabilityDpt: Number((halfWidthDpt * pick(random, [0, 0.03, 0.08])).toPrecision(2)),
        hysteresisDpt: Number(hysteresisDpt.toPrecision(2)),
        naturalFrequencyHz: Number(((100 * settlingAt100HzMs) / (responseMs - deadTimeMs)).toPrecision(4)),
        dampingRatio,
        deadTimeMs,
      },
      light: {
        name: 'Light',
        source,
        wavelengthNm: pick(random, [470, 525, 630]),
        bandwidthNm: 35,
        sensorIrradianceUwPerCm2: 1,
        riskGroup: 'exempt',
      },
      spacer: { name: 'No spacer', source, lengthMm: 0 },
    },
    layout: { tunableLensAt: 'object-side', gapMm: 15, fNumber, ringDistanceMm },
    controls: {
      exposureMs: wish.exposureMs,
      parkPowerDpt: between(random, 0, 1) < 0.5 ? powerMinDpt : Number(((powerMinDpt + powerMaxDpt) / 2).toFixed(2)),
      approachFrom: 'below',
    },
  });
  const station = readStation(text, { fileName: 'suite' });
  return withTaskOverRange(station);
}

/** Focal length, pixel and f-number that give a blur of so many pixels a dioptre. */
function drawLens(random: Random, slopePxPerDpt: number) {
  for (;;) {
    const focalLengthMm = pick(random, [8, 12, 16, 25, 35]);
    const pixelPitchUm = pick(random, [2.4, 3.45, 4.5, 5.5]);
    // Radius of the disc = D·f·ΔP / 2, in mm with ΔP in 1/mm.
    const apertureMm = (2 * pixelPitchUm * slopePxPerDpt) / focalLengthMm;
    const fNumber = focalLengthMm / apertureMm;
    if (fNumber >= 2.2 && fNumber <= 12) return { focalLengthMm, pixelPitchUm, fNumber: Number(fNumber.toFixed(2)) };
  }
}

/** The task's distances are those that the lens's powers focus. */
function withTaskOverRange(station: Station): Station {
  const model = layoutModelOf(station);
  const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
  const at = (focalPowerDpt: number) => workingDistanceAt({ model, focalPowerDpt });
  const [far, near] = [at(powerMinDpt), at(powerMaxDpt)];
  if (far.kind !== 'real' || near.kind !== 'real') throw new RangeError('drawn station focuses nothing');
  return { ...station, task: { ...station.task, nearMm: near.workingDistanceMm, farMm: far.workingDistanceMm } };
}
