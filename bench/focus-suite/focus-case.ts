import { type Random, seededRandom } from '../../src/base/index.js';
import type { FocusCamera } from '../../src/devices/index.js';
import { cropImage, type Region } from '../../src/image/index.js';
import { workingDistanceAt } from '../../src/optics/index.js';
import { type Station, whitePhotonsPerPixel } from '../../src/station/index.js';
import {
  type BuildErrors,
  createSimulatedBench,
  type LightColour,
  noBuildErrors,
  type Scene,
  sceneFromImage,
} from '../../src/twin/index.js';
import { opticalStateAt, trueLayout } from '../../src/twin/true-optics.js';
import { type CaseKind, refusedKinds } from './case-kinds.js';
import { drawStation, framePx, regionPx } from './draw-station.js';
import { focusBoundDpt } from './focus-bound.js';
import { misbehaving } from './misbehaviour.js';
import { photograph, photographCount } from './photographs.js';
import { type SceneSpectrum, sceneSpectrum } from './scene-spectrum.js';
import { chequers, dots, plain, star } from './targets.js';
import { type TrueOptics, trueFocus } from './true-transfer.js';

/** A camera for one run of a search, whose truth is known. */
export interface OpenCase {
  camera: FocusCamera;
  /** True powers during every frame so far. */
  framePowersDpt: number[][];
  /** True power at which the lens now rests; ends the run. */
  restingPowerDpt(): Promise<number>;
}

/** One simulated case of the suite. */
export interface FocusCase {
  index: number;
  kind: CaseKind;
  /** What a search ought to answer. */
  answer: 'found' | 'refused';
  scene: string;
  /** What is known beforehand: the station as its file says. */
  station: Station;
  region: Region;
  /** From a command until a plain step has settled to 2 %. */
  responseMs: number;
  /** Mean grey value above black in levels of 8 bit. */
  meanLevels: number;
  bestPowerDpt: number;
  /** Hidden W040. */
  sphericalWaves: number;
  /** Power change at which the MTF at 0.25 cycles a pixel has fallen to 80 %. */
  halfWidthDpt: number;
  boundDpt(framePowersDpt: readonly (readonly number[])[]): number;
  open(): OpenCase;
}

const ranges = [
  [-2, 3],
  [-5, 5],
  [0, 10],
] as const;
const between = (random: Random, low: number, high: number): number => low + (high - low) * random.uniform();
const logBetween = (random: Random, low: number, high: number): number => low * (high / low) ** random.uniform();
const cutNormal = (random: Random): number => Math.max(-2, Math.min(2, random.normal()));

/** Bound on best focus, in half-widths, that three frames about focus must allow: else the crop has too little texture. */
const mostBoundHalfWidths = 0.1;
const mostCrops = 12;

/** Builds a case. The same index and kind give the same case. */
export function focusCase(index: number, kind: CaseKind): FocusCase {
  const random = seededRandom(20_000 + index).fork(kind);
  const [powerMinDpt, powerMaxDpt] = ranges[index % 3]!;
  const responseMs = index % 2 === 0 ? 25 : logBetween(random, 4, 60);
  const exposureMs = random.uniform() < 0.5 ? 2 : 5;
  const dark = kind === 'low-light' || kind === 'dim';
  const station = drawStation(random.fork('station'), {
    powerMinDpt,
    powerMaxDpt,
    responseMs,
    bitDepth: random.uniform() < 0.6 ? 8 : 12,
    analogGain: dark ? [1, 2, 4][Math.floor(3 * random.uniform())]! : 1,
    exposureMs,
  });
  const errors = drawErrors(random.fork('errors'), station);
  const model = trueLayout(station, errors);
  const placed = placeTarget(random.fork('distance'), { station, errors, model, kind });
  const { wavelengthNm } = station.parts.light;
  const guessDpt = placed.truePowerDpt;
  const wide = (powerDpt: number) =>
    opticalStateAt({ model, focalPowerDpt: powerDpt, workingDistanceMm: placed.workingDistanceMm, wavelengthNm });
  const wavesPerDpt = Math.abs(wide(guessDpt + 0.01).defocusWaves - wide(guessDpt).defocusWaves) / 0.01;
  const optics: TrueOptics = {
    model,
    workingDistanceMm: placed.workingDistanceMm,
    pixelPitchUm: station.parts.sensor.pixelPitchUm,
    wavelengthNm,
    sphericalWaves: errors.sphericalAberrationNm / wavelengthNm,
    colours: drawColours(random.fork('colours'), { wavelengthNm, wavesPerDpt }),
  };
  const { bestPowerDpt, halfWidthDpt } = trueFocus(optics, { nearDpt: guessDpt, stepDpt: 0.5 / wavesPerDpt });
  const region: Region = {
    xPx: Math.round(between(random, 44, 84)),
    yPx: Math.round(between(random, 44, 84)),
    widthPx: regionPx,
    heightPx: regionPx,
  };
  const pixelMm = station.parts.sensor.pixelPitchUm / 1000 / wide(guessDpt).magnification;
  const wanted = wantedLevels(random.fork('light'), kind);
  const chosen = chooseScene(random.fork('scene'), { kind, pixelMm, region, enough: isEnough });
  const lit = withLight(station, { spectrum: chosen.spectrum, wantedLevels: wanted, kind });

  function isEnough(spectrum: SceneSpectrum): boolean {
    const trial = withLight(station, { spectrum, wantedLevels: wanted, kind });
    const framePowersDpt = [-3, 2, 0.3].map((widths) => [bestPowerDpt + widths * halfWidthDpt]);
    return focusBoundDpt({ optics, spectrum, ...trial, framePowersDpt }) < mostBoundHalfWidths * halfWidthDpt;
  }

  return {
    index,
    kind,
    answer: refusedKinds.has(kind) ? 'refused' : 'found',
    scene: chosen.scene.name,
    station: lit.station,
    region,
    responseMs,
    meanLevels: lit.meanLevels,
    bestPowerDpt,
    sphericalWaves: optics.sphericalWaves,
    halfWidthDpt,
    boundDpt: (framePowersDpt) => focusBoundDpt({ optics, spectrum: chosen.spectrum, ...lit, framePowersDpt }),
    open() {
      const twoPlanes = kind === 'two-planes';
      const apartDpt = (6 + 2 * (index % 6)) * halfWidthDpt;
      const inwardDpt = placed.isLow ? apartDpt : -apartDpt;
      const other = twoPlanes
        ? (realDistance(model, bestPowerDpt + inwardDpt) ?? distanceOf(model, bestPowerDpt - inwardDpt))
        : null;
      const bench = createSimulatedBench({
        station: lit.station,
        seed: 1000 + index,
        buildErrors: errors,
        scene: chosen.scene,
        secondPlaneMm: other === null ? 0 : other - placed.workingDistanceMm,
        colours: optics.colours,
        faults: kind === 'stuck-lens' ? [{ kind, commandCount: 0, isReported: index % 2 === 0 }] : [],
      });
      bench.world.workingDistanceMm = placed.workingDistanceMm;
      const framePowersDpt: number[][] = [];
      const camera = misbehaving({ bench, kind, index, random: random.fork('open'), framePowersDpt });
      return {
        camera,
        framePowersDpt,
        async restingPowerDpt() {
          await bench.camera.clock.sleep(20 * responseMs);
          await bench.camera.grab();
          const powers = bench.seenPowersDpt();
          return powers.reduce((sum, p) => sum + p, 0) / powers.length;
        },
      };
    },
  };
}

/** Hidden errors of lens, optics and sensor. */
function drawErrors(random: Random, station: Station): BuildErrors {
  const { tunableLens, light, sensor } = station.parts;
  const spanDpt = tunableLens.powerMaxDpt - tunableLens.powerMinDpt;
  return {
    ...noBuildErrors(),
    ringDistanceRatio: 1 + 0.01 * cutNormal(random),
    focalLengthMm: 0.005 * station.parts.fixedLens.focalLengthMm * cutNormal(random),
    lensGain: 1 + 0.015 * cutNormal(random),
    lensOffsetDpt: 0.01 * spanDpt * cutNormal(random),
    hysteresisDpt: tunableLens.hysteresisDpt * between(random, 0.7, 1.3),
    repeatabilityDpt: tunableLens.repeatabilityDpt,
    creepRatio: 0.001 * random.uniform(),
    sphericalAberrationNm: light.wavelengthNm * [-0.3, -0.15, 0, 0.15, 0.3][Math.floor(5 * random.uniform())]!,
    cornerLossRatio: between(random, 0.02, 0.08),
    deadPixelCount: 2,
    hotPixelCount: 2,
    nonUniformityRatio: sensor.nonUniformity,
    darkNonUniformityE: between(random, 0.3, 2),
  };
}

/** Three wavelengths, with the outer ones up to 0.15 waves out of the middle one's focus. */
function drawColours(
  random: Random,
  { wavelengthNm, wavesPerDpt }: { wavelengthNm: number; wavesPerDpt: number },
): LightColour[] {
  const focusShiftDpt = (0.15 * random.uniform()) / wavesPerDpt;
  return [
    { wavelengthNm: wavelengthNm - 20, weight: 0.25, focusShiftDpt: -focusShiftDpt },
    { wavelengthNm, weight: 0.5, focusShiftDpt: 0 },
    { wavelengthNm: wavelengthNm + 20, weight: 0.25, focusShiftDpt },
  ];
}

function realDistance(model: ReturnType<typeof trueLayout>, truePowerDpt: number): number | null {
  const focused = workingDistanceAt({ model, focalPowerDpt: truePowerDpt });
  return focused.kind === 'real' ? focused.workingDistanceMm : null;
}

function distanceOf(model: ReturnType<typeof trueLayout>, truePowerDpt: number): number {
  const distanceMm = realDistance(model, truePowerDpt);
  if (distanceMm === null) throw new RangeError(`no real target is sharp at ${truePowerDpt} dpt`);
  return distanceMm;
}

/** A distance whose best focus lies inside the lens's range, or beyond its upper end. */
function placeTarget(
  random: Random,
  {
    station,
    errors,
    model,
    kind,
  }: { station: Station; errors: BuildErrors; model: ReturnType<typeof trueLayout>; kind: CaseKind },
): { truePowerDpt: number; workingDistanceMm: number; isLow: boolean } {
  const { powerMinDpt, powerMaxDpt } = station.parts.tunableLens;
  const spanDpt = powerMaxDpt - powerMinDpt;
  const inner = 0.06 * spanDpt + errors.hysteresisDpt;
  const commandDpt =
    kind === 'out-of-range'
      ? powerMaxDpt + between(random, 0.12, 0.3) * spanDpt
      : between(random, powerMinDpt + inner, powerMaxDpt - inner);
  const truePowerDpt = errors.lensGain * commandDpt + errors.lensOffsetDpt;
  return {
    truePowerDpt,
    workingDistanceMm: distanceOf(model, truePowerDpt),
    isLow: commandDpt < (powerMinDpt + powerMaxDpt) / 2,
  };
}

/** Mean grey value to aim at, above black, in levels of 8 bit. */
function wantedLevels(random: Random, kind: CaseKind): number {
  if (kind === 'low-light') return logBetween(random, 8, 20);
  if (kind === 'dim') return between(random, 4, 8);
  if (kind === 'black') return 0.3 * random.uniform();
  return between(random, 50, 140);
}

/** Levels of 8 bit that the brightest part of a well exposed scene may reach, above black. */
const brightestLevels = 225;

/** The station with the light that gives the wanted mean, and what of it the bound needs. */
function withLight(
  station: Station,
  { spectrum, wantedLevels: wanted, kind }: { spectrum: SceneSpectrum; wantedLevels: number; kind: CaseKind },
) {
  const { sensor } = station.parts;
  const perLevel = 2 ** (sensor.bitDepth - 8);
  const held = Math.min(wanted, (brightestLevels * spectrum.meanRatio) / spectrum.largestRatio);
  const meanLevels = kind === 'saturated' ? 900 : held;
  const whiteDn = (meanLevels * perLevel) / spectrum.meanRatio;
  const whiteE = whiteDn / sensor.gainDnPerE;
  const perUnitE = sensor.quantumEfficiency * whitePhotonsPerPixel({ station });
  const light = { ...station.parts.light, sensorIrradianceUwPerCm2: whiteE / perUnitE };
  const signalE = whiteE * spectrum.meanRatio;
  return {
    station: { ...station, parts: { ...station.parts, light } },
    meanLevels,
    whiteDn,
    noiseVarianceDn2: sensor.gainDnPerE ** 2 * (sensor.readNoiseE ** 2 + signalE) + 1 / 12,
  };
}

/** A scene with texture enough for its light; a plain one where there is to be none. */
function chooseScene(
  random: Random,
  {
    kind,
    pixelMm,
    region,
    enough,
  }: { kind: CaseKind; pixelMm: number; region: Region; enough: (spectrum: SceneSpectrum) => boolean },
): { scene: Scene; spectrum: SceneSpectrum } {
  const spectrumOf = (scene: Scene) =>
    sceneSpectrum({
      scene,
      sizePx: regionPx,
      pixelMm,
      centreXPx: region.xPx + (regionPx - framePx) / 2,
      centreYPx: region.yPx + (regionPx - framePx) / 2,
    });
  if (kind === 'no-texture') {
    const scene = plain(pixelMm, between(random, 0.3, 0.7));
    return { scene, spectrum: spectrumOf(scene) };
  }
  const targets = [chequers, star, dots];
  const useTarget = random.uniform() < 0.25;
  for (let crop = 0; crop < mostCrops && !useTarget; crop++) {
    const scene = photographScene(random, pixelMm);
    const spectrum = spectrumOf(scene);
    if (kind === 'black' || kind === 'saturated' || enough(spectrum)) return { scene, spectrum };
  }
  const scene = targets[Math.floor(random.uniform() * targets.length)]!(pixelMm, random);
  return { scene, spectrum: spectrumOf(scene) };
}

/** Somewhere in a photograph, at one to 1.6 of its pixels for a pixel of the camera. */
function photographScene(random: Random, pixelMm: number): Scene {
  const index = Math.floor(random.uniform() * photographCount);
  const image = photograph(index);
  const scale = between(random, 1, 1.6);
  const size = (lengthPx: number) => Math.min(lengthPx, Math.ceil(480 * scale));
  const [widthPx, heightPx] = [size(image.widthPx), size(image.heightPx)];
  const crop = {
    xPx: Math.floor((image.widthPx - widthPx) * random.uniform()),
    yPx: Math.floor((image.heightPx - heightPx) * random.uniform()),
    widthPx,
    heightPx,
  };
  const scene = sceneFromImage({ image: cropImage({ image, region: crop }), pixelMm: pixelMm / scale });
  return { ...scene, name: `photograph ${index + 1}` };
}
