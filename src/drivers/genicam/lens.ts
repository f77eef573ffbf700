import { type Clock, FocuswrightError, requireNumber } from '../../base/index.js';
import type { LensStatus } from '../../devices/index.js';
import type { FeatureMap } from '../../station/index.js';
import type { Features } from './features.js';
import { findLensFeatures, type LensQuantity } from './lens-features.js';

/** What may be commanded, by whoever opened the camera; tighter than the lens's own limits or not. */
export interface CommandLimits {
  powerMinDpt?: number;
  powerMaxDpt?: number;
  currentMinMa?: number;
  currentMaxMa?: number;
}

/** The lens behind a camera, ready. */
export interface Lens {
  model: string;
  serialNumber: string | null;
  /** null: it takes no power. Limits in dpt. */
  power: Range | null;
  /** null: it takes no current. Limits in mA. */
  current: Range | null;
  hasTemperature: boolean;
  setPower(focalPowerDpt: number): Promise<number>;
  setCurrent(currentMa: number): Promise<number>;
  status(): Promise<LensStatus>;
  /** Power and temperature as they are read back, without the state. */
  reading(): Promise<{ focalPowerDpt: number; temperatureDegC: number | null }>;
  park(): Promise<void>;
  /** Parks at once on this thread: for the end of the process alone. */
  parkNow(): void;
}

interface Range {
  min: number;
  max: number;
  increment: number | null;
}

const initialiseWithinMs = 10_000;
const motionWithinMs = 3000;
const pollMs = 1;

/**
 * Makes the lens of a camera ready and stands before it: nothing outside its limits gets past.
 *
 * Model    a controller that says NotInitialized is initialised, the camera's own autofocus switched off; the map's enabling steps are taken; limits are the tighter of
 *          the device's and the caller's. After a command Busy is waited out. Ready is what the controller claims: the lens may
 *          still move, and one that reports no motion is `unknown`.
 * Input    `prepares`: false leaves all as it is and only looks
 * Returns  null where the camera has no lens, or one whose limits nobody tells.
 * Throws   `lens-fault` where the controller does not get ready; what the features throw.
 */
export async function openLens({
  features,
  clock,
  map,
  limits = {},
  parkPowerDpt = 0,
  prepares = true,
}: {
  features: Features;
  clock: Clock;
  map?: FeatureMap;
  limits?: CommandLimits;
  parkPowerDpt?: number;
  prepares?: boolean;
}): Promise<Lens | null> {
  if (prepares) await initialise(features, clock, map);
  const found = await findLensFeatures(features, map);
  const { powerByCurrent } = found;
  const current = rangeOf(found.current, { min: limits.currentMinMa, max: limits.currentMaxMa });
  const ownPower = powerByCurrent && current ? powerRangeOf(current, powerByCurrent) : found.power;
  const power = rangeOf(ownPower, { min: limits.powerMinDpt, max: limits.powerMaxDpt });
  if (!power && !current) return null;
  const parkDpt = power && Math.min(power.max, Math.max(power.min, parkPowerDpt));
  const parkMa = current && Math.min(current.max, Math.max(current.min, 0));

  const read = async (quantity: LensQuantity) =>
    quantity.offset + quantity.slope * (await features.readNumber(quantity.feature));
  const toDevice = ({ offset, slope }: LensQuantity, value: number) => (value - offset) / slope;
  const maOf = (dpt: number) => (dpt - powerByCurrent!.withoutCurrentDpt) / powerByCurrent!.perMaDpt;

  async function status(): Promise<LensStatus> {
    const now = await reading();
    return {
      ...now,
      currentMa: found.current ? await read(found.current) : null,
      state: await state(features, found.status),
    };
  }
  async function reading() {
    const temperatureDegC = found.temperature ? await read(found.temperature).catch(nullUnlessLost) : null;
    if (found.power) return { focalPowerDpt: await read(found.power), temperatureDegC };
    const ma = await read(found.current!);
    const focalPowerDpt = powerByCurrent ? powerByCurrent.withoutCurrentDpt + powerByCurrent.perMaDpt * ma : 0;
    return { focalPowerDpt, temperatureDegC };
  }
  async function command(quantity: LensQuantity, range: Range, value: number): Promise<number> {
    const stepped = onGrid(value, quantity, range);
    await features.writeNumber(quantity.feature, toDevice(quantity, stepped));
    await waitWhileBusy(features, found.status, clock);
    return stepped;
  }
  async function setCurrent(currentMa: number): Promise<number> {
    requireNumber('currentMa', currentMa, { unit: 'mA' });
    if (!current || !found.current) throw new FocuswrightError('feature-missing', { feature: 'lens current' });
    if (currentMa < current.min || currentMa > current.max) {
      throw new FocuswrightError('lens-current-out-of-range', {
        wanted: `${currentMa} mA`,
        allowed: `${current.min} … ${current.max} mA`,
      });
    }
    return command(found.current, current, currentMa);
  }
  async function setPower(focalPowerDpt: number): Promise<number> {
    requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' });
    if (!power) throw new FocuswrightError('feature-missing', { feature: 'focal power' });
    if (focalPowerDpt < power.min || focalPowerDpt > power.max) {
      throw new FocuswrightError('lens-power-out-of-range', {
        wanted: `${focalPowerDpt} dpt`,
        allowed: `${power.min} … ${power.max} dpt`,
      });
    }
    if (found.power) return command(found.power, power, focalPowerDpt);
    const ma = Math.min(current!.max, Math.max(current!.min, maOf(focalPowerDpt)));
    return powerByCurrent!.withoutCurrentDpt + powerByCurrent!.perMaDpt * (await setCurrent(ma));
  }

  return {
    model: found.model ? await features.readText(found.model) : 'tunable lens',
    serialNumber: found.serialNumber ? await features.readText(found.serialNumber) : null,
    power,
    current,
    hasTemperature: found.temperature !== null,
    setPower,
    setCurrent,
    status,
    reading,
    async park() {
      if (found.power && power) await features.writeNumber(found.power.feature, toDevice(found.power, parkDpt!));
      else if (found.current && powerByCurrent) await setPower(parkDpt!);
      else if (found.current) await features.writeNumber(found.current.feature, toDevice(found.current, parkMa!));
    },
    parkNow() {
      if (found.power && power) features.writeNumberNow(found.power.feature, toDevice(found.power, parkDpt!));
      else if (found.current) {
        const ma = powerByCurrent ? Math.min(current!.max, Math.max(current!.min, maOf(parkDpt!))) : parkMa!;
        features.writeNumberNow(found.current.feature, toDevice(found.current, ma));
      }
    },
  };
}

const nullUnlessLost = (error: unknown) => {
  if (error instanceof FocuswrightError && error.code === 'camera-link-lost') throw error;
  return null;
};

/** The tighter of the device's limits and the caller's; null where one side is open, or nothing is left. */
function rangeOf(
  own: { min: number | null; max: number | null; increment: number | null } | null,
  wanted: { min?: number; max?: number },
): Range | null {
  if (!own) return null;
  const min = Math.max(own.min ?? Number.NEGATIVE_INFINITY, wanted.min ?? Number.NEGATIVE_INFINITY);
  const max = Math.min(own.max ?? Number.POSITIVE_INFINITY, wanted.max ?? Number.POSITIVE_INFINITY);
  if (!Number.isFinite(min) || !Number.isFinite(max) || min > max) return null;
  return { min, max, increment: own.increment };
}

function powerRangeOf(
  current: Range,
  { perMaDpt, withoutCurrentDpt }: { perMaDpt: number; withoutCurrentDpt: number },
) {
  const ends = [current.min, current.max].map((ma) => withoutCurrentDpt + perMaDpt * ma);
  const increment = current.increment === null ? null : Math.abs(perMaDpt) * current.increment;
  return { min: Math.min(...ends), max: Math.max(...ends), increment };
}

/** The nearest value on the feature's grid that lies inside the limits. */
function onGrid(value: number, { offset, slope, increment, min: origin }: LensQuantity, range: Range): number {
  if (increment === null || increment <= 0) return value;
  const from = origin ?? offset;
  const nearest = from + Math.round((value - from) / increment) * increment;
  const inside = nearest > range.max ? nearest - increment : nearest < range.min ? nearest + increment : nearest;
  const outside = inside < range.min || inside > range.max || !Number.isFinite(slope);
  return outside ? Math.min(range.max, Math.max(range.min, value)) : inside;
}

async function state(features: Features, names: readonly string[]): Promise<LensStatus['state']> {
  if (names.length === 0) return 'unknown';
  const said = new Set<string>();
  for (const name of names) said.add(await features.readText(name));
  if (said.has('Error')) return 'fault';
  if (said.has('NotConnected')) return 'no-lens';
  if (said.has('NotInitialized')) return 'fault';
  return said.has('Busy') ? 'moving' : 'ready';
}

async function waitWhileBusy(features: Features, names: readonly string[], clock: Clock): Promise<void> {
  if (names.length === 0) return;
  const untilMs = clock.nowMs() + motionWithinMs;
  while ((await state(features, names)) === 'moving' && clock.nowMs() < untilMs) await clock.sleep(pollMs);
}

async function initialise(features: Features, clock: Clock, map?: FeatureMap): Promise<void> {
  for (const step of map?.enable ?? []) {
    const [name, value] = step.split(/=(.*)/s, 2) as [string, string | undefined];
    if (value === undefined) await features.execute(name);
    else await writeAsDescribed(features, name, value);
  }
  await selectConnected(features);
  await stopOwnAutofocus(features);
  for (const part of ['OpticController', 'Focus']) {
    const status = `${part}Status`;
    const command = `${part}Initialize`;
    const isThere = await features.has(status);
    if (!(await features.has(command))) continue;
    if (isThere && (await features.readText(status)) !== 'NotInitialized') continue;
    if (!isThere && (part === 'Focus' || (await features.has('FocalPower')))) continue;
    await features.execute(command);
    const untilMs = clock.nowMs() + initialiseWithinMs;
    for (;;) {
      const said = isThere ? await features.readText(status) : (await features.has('FocalPower')) ? 'Ready' : 'Busy';
      if (said === 'Ready') break;
      if (said === 'Error' || clock.nowMs() > untilMs)
        throw new FocuswrightError('lens-fault', { feature: status, said });
      await clock.sleep(pollMs);
    }
  }
}

/** While the camera's own autofocus is on, it moves the lens and refuses powers. */
async function stopOwnAutofocus(features: Features): Promise<void> {
  const auto = await features.describe('FocusAuto');
  if (auto?.access === 'read-write' && auto.entries.includes('Off')) await features.writeText('FocusAuto', 'Off');
}

/** Chooses the first controller that something is connected to, where there are several. */
async function selectConnected(features: Features): Promise<void> {
  const selector = await features.describe('OpticControllerSelector');
  if (!selector || selector.entries.length < 2 || !(await features.has('OpticControllerStatus'))) return;
  for (const entry of selector.entries) {
    await features.writeText('OpticControllerSelector', entry);
    const said = await features.readText('OpticControllerStatus');
    if (said !== 'NotConnected' && said !== 'NotSupported') return;
  }
  await features.writeText('OpticControllerSelector', selector.entries[0]!);
}

async function writeAsDescribed(features: Features, name: string, value: string): Promise<void> {
  const described = await features.describe(name);
  if (described?.kind === 'float' || described?.kind === 'integer') await features.writeNumber(name, Number(value));
  else if (described?.kind === 'boolean') await features.writeSwitch(name, /^(true|on|1)$/i.test(value));
  else await features.writeText(name, value);
}
