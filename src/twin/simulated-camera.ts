import { type Clock, FocuswrightError, type Random, requireNumber, throwIfCancelled } from '../base/index.js';
import { completeCamera, type FocusCamera, plainCapabilities } from '../devices/index.js';
import type { GreyImage } from '../image/index.js';
import { photonsPerPixel } from '../optics/index.js';
import { type Station, whiteIrradianceUwPerCm2 } from '../station/index.js';
import type { BuildErrors } from './build-errors.js';
import type { FaultPlan } from './faults.js';
import type { LensDynamics } from './lens/lens-dynamics.js';
import { exposureParts, type ImageFormation } from './render/image-formation.js';
import type { SimulatedSensor } from './sensor/simulated-sensor.js';
import type { World } from './world.js';

const exposureMinMs = 0.01;
const exposureMaxMs = 10_000;
/** Noise of one temperature reading, 1σ; common practice, no source. */
const temperatureNoiseDegC = 0.05;
/** A lens driver reports `moving` until its own datasheet says that a step has settled to about 2 %. */
const settledTimeConstants = 4;

/**
 * The simulated camera: a device like any other, seen through the contract alone.
 *
 * Model    what it reports is what a device would know: the commanded power, a noisy temperature. What it shows comes from
 *          the true powers during the exposure.
 * Throws   `lens-power-out-of-range`, `camera-closed`, `camera-link-lost`, `frame-lost`, `cancelled`; RangeError for values
 *          that are not finite or an exposure out of range.
 */
export function simulatedCamera({
  station,
  clock,
  world,
  errors,
  faults,
  lens,
  optics,
  sensor,
  brightnessAt,
  random,
}: {
  station: Station;
  clock: Clock;
  world: World;
  errors: BuildErrors;
  faults: FaultPlan;
  lens: LensDynamics;
  optics: ImageFormation;
  sensor: SimulatedSensor;
  /** Light in the middle of the field at a true power, relative to that in the middle of the task's range. */
  brightnessAt: (focalPowerDpt: number) => number;
  random: Random;
}): FocusCamera {
  const { sensor: chip, tunableLens, light } = station.parts;
  const id = `sim:${station.station}`;
  const thermometer = random.fork('thermometer');
  let open = true;
  let exposureMs = station.controls.exposureMs;
  let frameCount = 0;
  let commandCount = 0;
  let sticking: 'reported' | 'unnoticed' | null = null;
  let lastCommandMs = Number.NEGATIVE_INFINITY;
  let nextFrameMs = 0;

  function requireLink(): void {
    if (!open) throw new FocuswrightError('camera-closed', { camera: id });
    if (faults.linkLostAt(frameCount + 1)) throw new FocuswrightError('camera-link-lost', { camera: id });
  }

  function command(focalPowerDpt: number): number {
    sticking = faults.stickingAt(++commandCount);
    if (sticking !== null) lens.stick(sticking);
    if (focalPowerDpt !== lens.reportedDpt()) lastCommandMs = clock.nowMs();
    return lens.command({ timeMs: clock.nowMs(), focalPowerDpt });
  }

  const temperatureReadingDegC = () =>
    world.temperatureAt(clock.nowMs()) + errors.temperatureReadingDegC + temperatureNoiseDegC * thermometer.normal();

  const settlingMs =
    tunableLens.deadTimeMs +
    1000 * (settledTimeConstants / (2 * Math.PI * tunableLens.naturalFrequencyHz * tunableLens.dampingRatio));

  const whiteUwPerCm2 = whiteIrradianceUwPerCm2(station);
  /** Charge of a pixel that sees a white target in the middle of the field. */
  const whiteLight = (usedExposureMs: number, focalPowerDpt: number) => ({
    electronsAtWhiteE:
      chip.quantumEfficiency *
      photonsPerPixel({
        irradianceUwPerCm2: whiteUwPerCm2 * world.lightRatio * brightnessAt(focalPowerDpt),
        exposureMs: usedExposureMs,
        wavelengthNm: light.wavelengthNm,
        pixelPitchUm: chip.pixelPitchUm,
      }),
  });

  function exposed(powersDpt: Float64Array, usedExposureMs: number, frameId: number): GreyImage {
    const middleDpt = powersDpt[powersDpt.length >> 1]!;
    sensor.illuminate(middleDpt);
    const image = optics.image(powersDpt, (world.speedMmPerS * usedExposureMs) / 1000);
    return sensor.read({ ...whiteLight(usedExposureMs, middleDpt), image, frameId });
  }

  async function park(): Promise<void> {
    if (open && !faults.linkLostAt(frameCount + 1)) command(station.controls.parkPowerDpt);
  }

  return completeCamera({
    id,
    simulated: true,
    clock,
    async identify() {
      requireLink();
      return { id, model: `${chip.name} (simulated)`, lensModel: `${tunableLens.name} (simulated)` };
    },
    async capabilities() {
      requireLink();
      return {
        ...plainCapabilities,
        widthPx: chip.widthPx,
        heightPx: chip.heightPx,
        bitDepth: chip.bitDepth,
        sensorWidthPx: chip.widthPx,
        sensorHeightPx: chip.heightPx,
        pixelFormats: [`Mono${chip.bitDepth}`],
        hasSoftwareTrigger: true,
        powerMinDpt: tunableLens.powerMinDpt,
        powerMaxDpt: tunableLens.powerMaxDpt,
        controlStepDpt: tunableLens.controlStepDpt,
        repeatabilityDpt: tunableLens.repeatabilityDpt,
        settlingMs,
        exposureMinMs,
        exposureMaxMs,
        frameRateHz: chip.frameRateHz,
        hasTemperature: true,
      };
    },
    async setFocalPower({ focalPowerDpt }) {
      requireLink();
      requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' });
      const { powerMinDpt, powerMaxDpt } = tunableLens;
      if (focalPowerDpt < powerMinDpt || focalPowerDpt > powerMaxDpt) {
        throw new FocuswrightError('lens-power-out-of-range', {
          wanted: `${focalPowerDpt} dpt`,
          allowed: `${powerMinDpt} … ${powerMaxDpt} dpt`,
        });
      }
      return command(focalPowerDpt);
    },
    async setExposure(wanted) {
      requireLink();
      exposureMs = requireNumber('exposureMs', wanted.exposureMs, {
        min: exposureMinMs,
        max: exposureMaxMs,
        unit: 'ms',
      });
      return exposureMs;
    },
    async lensStatus() {
      requireLink();
      const moving = clock.nowMs() < lastCommandMs + settlingMs;
      return {
        focalPowerDpt: lens.reportedDpt(),
        currentMa: null,
        temperatureDegC: temperatureReadingDegC(),
        state: sticking === 'reported' ? 'fault' : moving ? 'moving' : 'ready',
      };
    },
    async grab({ signal } = {}) {
      requireLink();
      if (signal) throwIfCancelled(signal, 'grabbing a frame');
      const startMs = Math.max(clock.nowMs(), nextFrameMs);
      const untilMs = startMs + exposureMs;
      const usedExposureMs = exposureMs;
      const frameId = ++frameCount;
      const reportedDpt = lens.reportedDpt();
      nextFrameMs = Math.max(untilMs, startMs + 1000 / chip.frameRateHz);
      await clock.sleep(Math.max(0, untilMs - clock.nowMs()));
      const powers = lens.truePowersDpt({ fromMs: startMs, untilMs, count: exposureParts });
      const temperatureDegC = temperatureReadingDegC();
      const lost = faults.losesFrame();
      const arriveMs = untilMs + chip.readoutMs + faults.frameDelayMs();
      const image = lost ? null : exposed(powers, usedExposureMs, frameId);
      await clock.sleep(Math.max(0, arriveMs - clock.nowMs()));
      if (signal) throwIfCancelled(signal, 'grabbing a frame');
      if (image === null) throw new FocuswrightError('frame-lost', { camera: id, frame: frameId });
      return {
        image,
        frameId,
        focalPowerDpt: reportedDpt,
        exposureMs: usedExposureMs,
        temperatureDegC,
        exposedAtMs: (startMs + untilMs) / 2,
        arrivedAtMs: clock.nowMs(),
        source: id,
        fileName: null,
      };
    },
    park,
    async close({ keepPower = false } = {}) {
      if (!keepPower) await park();
      open = false;
    },
  });
}
