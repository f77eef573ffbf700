import { type CancelSignal, FocuswrightError } from '../base/index.js';
import { type Bench, type EvidenceSink, guardLens } from '../devices/index.js';
import type { RunObserver } from '../protocol/index.js';
import {
  type AutofocusRecord,
  type EvidenceFrame,
  powerLimitsOf,
  type ResolutionReading,
  type Station,
} from '../station/index.js';

/** What was measured so far. Filled while a run goes on, so that a cancel or a fault loses nothing. */
export interface RunJournal {
  frames: EvidenceFrame[];
  autofocus: AutofocusRecord[];
  resolution: ResolutionReading[];
}

/** All that a procedure works with: a station, its guarded bench, and where results and messages go. */
export interface Run {
  station: Station;
  /** The camera is guarded by the station's limits. */
  bench: Bench;
  evidence: EvidenceSink;
  observer: RunObserver;
  signal: CancelSignal;
  journal: RunJournal;
  /** Power the lens was last told; null before the first command. */
  lastCommandDpt: number | null;
}

/**
 * Puts the lens behind the station's limits and opens an empty journal. Moves nothing.
 *
 * Throws   `lens-power-out-of-range` where station and device have no power in common, or what the camera throws.
 */
export async function beginRun(
  parts: Pick<Run, 'station' | 'bench' | 'evidence' | 'observer' | 'signal'>,
): Promise<Run> {
  const limits = powerLimitsOf(parts.station);
  const device = await parts.bench.camera.capabilities();
  if (!device.hasLens) throw new FocuswrightError('lens-missing', { camera: parts.bench.camera.id });
  if (device.powerMinDpt > limits.powerMaxDpt || device.powerMaxDpt < limits.powerMinDpt) {
    throw new FocuswrightError('lens-power-out-of-range', {
      station: `${limits.powerMinDpt} … ${limits.powerMaxDpt} dpt`,
      device: `${device.powerMinDpt} … ${device.powerMaxDpt} dpt`,
    });
  }
  const { slewLimitDptPerS, currentMinMa, currentMaxMa } = parts.station.controls;
  const { temperatureMaxDegC } = parts.station.parts.tunableLens;
  const guarding = { ...limits, slewLimitDptPerS, currentMinMa, currentMaxMa, temperatureMaxDegC };
  const camera = await guardLens(parts.bench.camera, guarding);
  return {
    ...parts,
    bench: { camera, stage: parts.bench.stage },
    journal: { frames: [], autofocus: [], resolution: [] },
    lastCommandDpt: null,
  };
}
