import { FocuswrightError } from '../../base/index.js';
import type { CameraSettings } from '../../devices/index.js';
import type { Features } from './features.js';
import { readableFormats } from './pixel-formats.js';

/** Settings of the acquisition, by the standard's features; those that a camera lacks stay as they are. */
export interface Acquisition {
  hasSoftwareTrigger: boolean;
  lines: readonly string[];
  pixelFormats: readonly string[];
  sensor: { widthPx: number; heightPx: number };
  regionStepPx: number | null;
  gain: { feature: string; min: number; max: number } | null;
  read(): Promise<CameraSettings>;
  /** Throws `setting-refused`. The acquisition must stand still. */
  write(wanted: Partial<CameraSettings>, now: CameraSettings): Promise<void>;
  setTrigger(trigger: CameraSettings['trigger']): Promise<void>;
  /** Frame rate as it is, and the highest there may be. */
  frameRateHz(): Promise<{ now: number | null; max: number | null }>;
}

/** Learns how the acquisition of a camera is set, and sets it to run on. */
export async function acquisitionOf(features: Features, camera: string): Promise<Acquisition> {
  const describe = (name: string) => features.describe(name);
  const writable = async (name: string) => (await describe(name))?.access === 'read-write';
  if (await writable('AcquisitionMode')) await features.writeText('AcquisitionMode', 'Continuous').catch(() => {});
  const selector = await describe('TriggerSelector');
  if (selector?.entries.includes('FrameStart')) await features.writeText('TriggerSelector', 'FrameStart');
  const source = await describe('TriggerSource');
  const hasMode = await writable('TriggerMode');
  const hasSoftwareTrigger =
    hasMode && (source?.entries.includes('Software') ?? false) && (await features.has('TriggerSoftware'));
  const lines = hasMode ? (source?.entries.filter((entry) => entry !== 'Software') ?? []) : [];
  const formats = (await describe('PixelFormat'))?.entries ?? [];
  const pixelFormats = readableFormats.filter((name) => formats.includes(name));
  const now = async (name: string) => ((await features.has(name)) ? features.readNumber(name) : null);
  const [width, height] = [await describe('Width'), await describe('Height')];
  const sensor = {
    widthPx: (await now('SensorWidth')) ?? (await now('WidthMax')) ?? width?.max ?? 0,
    heightPx: (await now('SensorHeight')) ?? (await now('HeightMax')) ?? height?.max ?? 0,
  };
  const stepOf = async (name: string) => (await describe(name))?.increment ?? 1;
  const hasRegion = width?.access === 'read-write' && height?.access === 'read-write';
  const regionStepPx = hasRegion
    ? Math.max(width.increment ?? 1, height.increment ?? 1, await stepOf('OffsetX'), await stepOf('OffsetY'))
    : null;
  const gain = await gainOf(features);
  let trigger: CameraSettings['trigger'] = 'free';

  const refuse = (setting: string, wanted: unknown, allowed: string): never => {
    throw new FocuswrightError('setting-refused', { camera, setting, wanted: JSON.stringify(wanted), allowed });
  };

  async function setTrigger(wanted: CameraSettings['trigger']): Promise<void> {
    if (hasMode) {
      await features.writeText('TriggerMode', wanted === 'free' ? 'Off' : 'On');
      if (wanted !== 'free')
        await features.writeText('TriggerSource', wanted === 'software' ? 'Software' : wanted.line);
    }
    trigger = wanted;
  }

  const rateFeature = (await writable('AcquisitionFrameRate'))
    ? 'AcquisitionFrameRate'
    : (await writable('AcquisitionFrameRateAbs'))
      ? 'AcquisitionFrameRateAbs'
      : null;
  async function frameRateHz() {
    const rate = rateFeature && (await describe(rateFeature));
    const resulting = (await now('ResultingFrameRate')) ?? (await now('AcquisitionResultingFrameRate'));
    return { now: resulting ?? (rate ? await features.readNumber(rate.name) : null), max: rate ? rate.max : resulting };
  }
  async function writeRate(wanted: number | null): Promise<void> {
    const isLimited = wanted !== null;
    for (const name of ['AcquisitionFrameRateEnable', 'AcquisitionFrameRateEnabled']) {
      if (await writable(name)) await features.writeSwitch(name, isLimited);
    }
    if (isLimited) await features.writeNumber(rateFeature!, wanted);
  }

  async function writeRegion(region: CameraSettings['region']): Promise<void> {
    // Offsets first to 0, so that any size fits; then size, then offsets.
    for (const name of ['OffsetX', 'OffsetY']) if (await writable(name)) await features.writeNumber(name, 0);
    await features.writeNumber('Width', region.widthPx);
    await features.writeNumber('Height', region.heightPx);
    if (region.xPx > 0) await features.writeNumber('OffsetX', region.xPx);
    if (region.yPx > 0) await features.writeNumber('OffsetY', region.yPx);
  }

  return {
    hasSoftwareTrigger,
    lines,
    pixelFormats,
    sensor,
    regionStepPx,
    gain,
    setTrigger,
    async read() {
      return {
        gain: gain && (await features.readNumber(gain.feature)),
        region: {
          xPx: (await now('OffsetX')) ?? 0,
          yPx: (await now('OffsetY')) ?? 0,
          widthPx: (await now('Width')) ?? sensor.widthPx,
          heightPx: (await now('Height')) ?? sensor.heightPx,
        },
        pixelFormat: formats.length > 0 ? await features.readText('PixelFormat') : 'Mono8',
        frameRateHz: (await frameRateHz()).now,
        trigger,
      };
    },
    async write(wanted, inUse) {
      const { gain: level, region, pixelFormat, trigger: start } = wanted;
      // All is checked before anything is written.
      if (level !== undefined && level !== inUse.gain) {
        if (!gain || level === null || !(level >= gain.min && level <= gain.max)) {
          refuse('gain', level, gain ? `${gain.min} … ${gain.max}` : 'none: the camera has no gain');
        }
      }
      if (region && JSON.stringify(region) !== JSON.stringify(inUse.region)) {
        const { xPx, yPx, widthPx, heightPx } = region;
        const step = regionStepPx ?? Number.NaN;
        const isInside = xPx + widthPx <= sensor.widthPx && yPx + heightPx <= sensor.heightPx;
        const isOnGrid = [xPx, yPx, widthPx, heightPx].every((v) => Number.isInteger(v) && v >= 0 && v % step === 0);
        if (!isInside || !isOnGrid || widthPx < 1 || heightPx < 1) {
          const whole = `inside ${sensor.widthPx} × ${sensor.heightPx} px`;
          refuse('region', region, regionStepPx ? `${whole}, in steps of ${regionStepPx} px` : 'the whole frame only');
        }
      }
      if (pixelFormat !== undefined && !pixelFormats.includes(pixelFormat)) {
        refuse('pixelFormat', pixelFormat, pixelFormats.join(', ') || inUse.pixelFormat);
      }
      if (typeof wanted.frameRateHz === 'number' && wanted.frameRateHz !== inUse.frameRateHz) {
        const { min, max } = (rateFeature && (await describe(rateFeature))) || {};
        if (!(wanted.frameRateHz >= (min ?? Number.NaN) && wanted.frameRateHz <= (max ?? Number.NaN))) {
          refuse('frameRateHz', wanted.frameRateHz, rateFeature ? `${min} … ${max} Hz` : 'null: the camera’s own');
        }
      }
      if (start !== undefined && start !== 'free') {
        const known = start === 'software' ? hasSoftwareTrigger : lines.includes(start.line);
        if (!known)
          refuse('trigger', start, ['free', hasSoftwareTrigger ? 'software' : '', ...lines].filter(Boolean).join(', '));
      }
      if (pixelFormat !== undefined && pixelFormat !== inUse.pixelFormat) {
        await features.writeText('PixelFormat', pixelFormat);
      }
      if (region && JSON.stringify(region) !== JSON.stringify(inUse.region)) await writeRegion(region);
      if (typeof level === 'number' && level !== inUse.gain) await features.writeNumber(gain!.feature, level);
      if (wanted.frameRateHz !== undefined && wanted.frameRateHz !== inUse.frameRateHz)
        await writeRate(wanted.frameRateHz);
      if (start !== undefined) await setTrigger(start);
    },
    frameRateHz,
  };
}

async function gainOf(features: Features): Promise<Acquisition['gain']> {
  for (const name of ['Gain', 'GainAbs', 'GainRaw']) {
    const found = await features.describe(name);
    if (found?.access !== 'read-write' || found.min === null || found.max === null) continue;
    return { feature: name, min: found.min, max: found.max };
  }
  return null;
}
