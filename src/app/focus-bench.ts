import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { type Bench, type FocusCamera, guardLens, type TargetStage } from '../devices/index.js';
import { deviceLensResponse, type LensResponse, stationLensResponse } from '../procedures/index.js';
import { powerLimitsOf, type Station } from '../station/index.js';
import { type LoadedStation, loadStation } from './load-station.js';
import { openBench } from './open-bench.js';

/** What a camera is opened with to find focus on it. */
export interface FocusBenchRequest {
  cameraAddress: string;
  /** null: nothing is known but what the device tells. */
  loaded: Pick<LoadedStation, 'station' | 'sha256'> | null;
  /** Powers to stay inside; null: the limits of lens and station. */
  powerRangeDpt: readonly [number, number] | null;
  /** Of the simulated station. */
  seed?: number;
  signal: CancelSignal;
  /** Stands between the search and the bench from its opening on, to record it. */
  wrap?: (bench: Bench) => Bench;
}

/** A camera ready for searches. */
export interface FocusBench {
  /** As opened: to close, and to read what it was left with. */
  device: FocusCamera;
  /** The same inside the limits of lens, station and request. */
  camera: FocusCamera;
  stage: TargetStage;
  response: LensResponse;
  /** Station whose world a simulated camera shows; null: a real camera without a station. */
  world: Station | null;
  seed: number | null;
}

/** Station whose world the simulated camera shows where none is given. */
const standInStation = 'glaze-line';

/** Opens a camera for searches. Throws `lens-power-out-of-range`, and what openBench throws; then nothing is left open. */
export async function openFocusBench(request: FocusBenchRequest): Promise<FocusBench> {
  const { loaded, cameraAddress, signal } = request;
  const known = loaded?.station ?? null;
  const world = known === null && cameraAddress === 'simulated' ? (await loadStation(standInStation)).station : known;
  const seed = request.seed ?? world?.rehearsal.seed ?? null;
  const { wrap = (bench) => bench } = request;
  const opened = await openBench(cameraAddress, { station: world, ...(seed !== null && { seed }), signal });
  const { camera: device, stage } = wrap(opened);
  try {
    const camera = await limited(device, request);
    const response = loaded ? stationLensResponse(loaded.station) : deviceLensResponse(await camera.capabilities());
    return { device, camera, stage, response, world, seed };
  } catch (error) {
    await device.close();
    throw error;
  }
}

async function limited(device: FocusCamera, { loaded, powerRangeDpt }: FocusBenchRequest): Promise<FocusCamera> {
  const own = await device.capabilities();
  if (!own.hasLens) throw new FocuswrightError('lens-missing', { camera: device.id });
  // A recording has no lens to guard, and its powers change with the distance of the target: its own limits hold, asked anew.
  if (!loaded && powerRangeDpt === null && own.powersDpt !== null) return device;
  const station = loaded ? powerLimitsOf(loaded.station) : own;
  const lowest = Math.max(own.powerMinDpt, station.powerMinDpt);
  const highest = Math.min(own.powerMaxDpt, station.powerMaxDpt);
  const [powerMinDpt, powerMaxDpt] = powerRangeDpt ?? [lowest, highest];
  if (lowest > highest || powerMinDpt < lowest - 1e-9 || powerMaxDpt > highest + 1e-9) {
    throw new FocuswrightError('lens-power-out-of-range', {
      wanted: `${powerMinDpt} … ${powerMaxDpt} dpt`,
      allowed: `${lowest} … ${highest} dpt`,
    });
  }
  if (!loaded) return guardLens(device, { powerMinDpt, powerMaxDpt });
  const { controls, parts } = loaded.station;
  return guardLens(device, {
    powerMinDpt,
    powerMaxDpt,
    slewLimitDptPerS: controls.slewLimitDptPerS,
    temperatureMaxDegC: parts.tunableLens.temperatureMaxDegC,
  });
}
