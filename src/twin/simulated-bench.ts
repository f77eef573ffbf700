import { type Clock, requireInteger, seededRandom } from '../base/index.js';
import type { Bench } from '../devices/index.js';
import { comaEdgePerRms, pupilView } from '../optics/index.js';
import { gravityComaRmsWavesOf, middleFNumberOf, type Station, spectrumOf } from '../station/index.js';
import { type BuildErrors, drawBuildErrors } from './build-errors.js';
import { type Fault, faultPlan } from './faults.js';
import { illuminationOverField } from './illumination.js';
import { lensDynamics } from './lens/lens-dynamics.js';
import { type FrameKernel, frameKernel } from './render/frame-kernel.js';
import { exposureParts, imageFormation, type LightColour } from './render/image-formation.js';
import { twoPlanes } from './render/two-planes.js';
import { fieldOfScene } from './scenes/field-of-scene.js';
import { type Scene, scenes } from './scenes/index.js';
import { fixedPattern } from './sensor/fixed-pattern.js';
import { simulatedSensor } from './sensor/simulated-sensor.js';
import { simulatedCamera } from './simulated-camera.js';
import { simulatedStage } from './simulated-stage.js';
import { trueLayout } from './true-optics.js';
import { virtualClock } from './virtual-clock.js';
import { type World, warmingTemperature } from './world.js';

/** A bench whose truth is known. Procedures must see `camera` and `stage` alone. */
export interface SimulatedBench extends Bench {
  world: World;
  /** What was built differently from the station file: for tests alone. */
  truth: BuildErrors;
  /** True focal powers during the last exposure, in equal parts of it; empty before the first. */
  seenPowersDpt(): Float64Array;
  /** Paints the scene at the target's place ahead of the next frame, which takes ten times as long as a frame. */
  prepare(): void;
}

/** Margin around the lens's limits for temperature, drift, hysteresis and overshoot. */
const marginDpt = 0.3;

/**
 * The simulated station: camera, lens and stage on one virtual clock, seeing one world.
 *
 * Model    docs/twin/simulated-station.md
 * Input    `seed`: of noise and hidden errors, by default the station's rehearsal seed; `buildErrors` replaces some or all of
 *          the drawn ones; `scene` replaces the station's own, `clock` the virtual one; with `secondPlaneMm` the right half
 *          of the field lies so much farther than the target; `colours` of the light, by default its
 *          centre wavelength alone.
 * Returns  a bench at the middle of the task's range with the lens parked. The same station, seed and calls give the same
 *          frames, byte for byte.
 * Throws   RangeError for a seed or fault out of range, or a layout that cannot be built.
 */
export function createSimulatedBench({
  station,
  seed = station.rehearsal.seed,
  buildErrors = {},
  faults = [],
  scene,
  secondPlaneMm = 0,
  clock = virtualClock(),
  colours,
}: {
  station: Station;
  seed?: number;
  buildErrors?: Partial<BuildErrors>;
  faults?: readonly Fault[];
  scene?: Scene;
  secondPlaneMm?: number;
  clock?: Clock;
  colours?: readonly LightColour[];
}): SimulatedBench {
  requireInteger('seed', seed, { min: 0, max: 4294967295 });
  const { sensor: chip, tunableLens, light } = station.parts;
  const truth = { ...drawBuildErrors({ station, seed }), ...buildErrors };
  const random = seededRandom(seed);
  const plan = faultPlan(faults, random.fork('faults'));
  const model = trueLayout(station, truth);
  const warming = warmingTemperature({
    ambientDegC: station.rehearsal.ambientDegC,
    riseDegC: station.rehearsal.warmUpDegC,
  });
  const world: World = {
    scene: scene ?? scenes[station.rehearsal.scene](fieldOfScene(station), seed),
    workingDistanceMm: (station.task.nearMm + station.task.farMm) / 2,
    speedMmPerS: 0,
    lightRatio: plan.lightRatio,
    temperatureAt: (timeMs) => warming(timeMs) + plan.temperatureRiseDegC(timeMs),
  };
  const middleFNumber = middleFNumberOf(station, station.layout.fNumber);
  const size = { widthPx: chip.widthPx, heightPx: chip.heightPx };
  const strideCount = 4 * Math.ceil(chip.widthPx / 4);
  const kernel = frameKernel();
  const pattern = fixedPattern({
    ...size,
    strideCount,
    fullWellE: chip.fullWellE,
    nonUniformityRatio: truth.nonUniformityRatio,
    deadPixelCount: truth.deadPixelCount,
    hotPixelCount: truth.hotPixelCount,
    darkNonUniformityE: truth.darkNonUniformityE,
    random: random.fork('fixed-pattern'),
  });
  const sensor = simulatedSensor({
    kernel,
    ...size,
    strideCount,
    sensor: chip,
    pattern,
    fieldLight: illuminationOverField({
      model,
      ...size,
      pixelPitchUm: chip.pixelPitchUm,
      cornerLossRatio: truth.cornerLossRatio,
    }),
    random: random.fork('hot-pixels'),
    seed,
  });
  const opticsOf = (seen: World, ownKernel: FrameKernel) =>
    imageFormation({
      kernel: ownKernel,
      world: seen,
      model,
      ...size,
      pixelPitchUm: chip.pixelPitchUm,
      wavelengthNm: light.wavelengthNm,
      ...(colours && { colours }),
      sphericalAberrationNm: truth.sphericalAberrationNm,
      comaNm: comaEdgePerRms * gravityComaRmsWavesOf(station) * light.wavelengthNm,
      spectrumAt: (focalPowerDpt) => spectrumOf({ station, model, focalPowerDpt }),
      powerMinDpt: truth.lensGain * tunableLens.powerMinDpt + truth.lensOffsetDpt - marginDpt,
      powerMaxDpt: truth.lensGain * tunableLens.powerMaxDpt + truth.lensOffsetDpt + marginDpt,
    });
  const optics =
    secondPlaneMm === 0
      ? opticsOf(world, kernel)
      : twoPlanes({
          left: opticsOf(world, kernel),
          right: opticsOf(fartherBy(world, secondPlaneMm), frameKernel()),
          strideCount,
          firstRightPx: chip.widthPx >> 1,
        });
  let seenPowersDpt = new Float64Array(0);
  const noting: typeof optics = {
    image(truePowersDpt, smearMm) {
      seenPowersDpt = Float64Array.from(truePowersDpt);
      return optics.image(truePowersDpt, smearMm);
    },
  };
  const lens = lensDynamics({
    lens: tunableLens,
    errors: truth,
    random: random.fork('repeatability'),
    temperatureAt: world.temperatureAt,
    startDpt: station.controls.parkPowerDpt,
    slowingRatio: plan.slowingRatio,
  });
  return {
    camera: simulatedCamera({
      station,
      clock,
      world,
      errors: truth,
      faults: plan,
      lens,
      optics: noting,
      sensor,
      brightnessAt: (focalPowerDpt) => (middleFNumber / pupilView({ model, focalPowerDpt }).workingFNumber) ** 2,
      random: random.fork('camera'),
    }),
    stage: simulatedStage({ world, errors: truth, random: random.fork('stage'), sleep: clock.sleep }),
    world,
    truth,
    seenPowersDpt: () => seenPowersDpt,
    prepare: () => void optics.image(new Float64Array(exposureParts).fill(lens.reportedDpt())),
  };
}

/** The same world with its target so much farther away. */
const fartherBy = (world: World, distanceMm: number): World => ({
  get scene() {
    return world.scene;
  },
  get workingDistanceMm() {
    return world.workingDistanceMm + distanceMm;
  },
  get speedMmPerS() {
    return world.speedMmPerS;
  },
  get lightRatio() {
    return world.lightRatio;
  },
  temperatureAt: (timeMs) => world.temperatureAt(timeMs),
});
