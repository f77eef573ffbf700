import { basename, resolve } from 'node:path';
import { type Clock, FocuswrightError, neverCancelled, requireNumber, throwIfCancelled } from '../../base/index.js';
import {
  type Bench,
  type CameraCapabilities,
  completeCamera,
  type Frame,
  plainCapabilities,
  type TargetStage,
} from '../../devices/index.js';
import type { RecordedRow } from './frames-table.js';
import { openRecordedFolder } from './recorded-folder.js';

/**
 * A folder of recorded frames as a camera and a stage.
 *
 * Model    only the recorded distances and, at each, the recorded powers exist: `setFocalPower` goes to the nearest
 *          recorded power, `grab` gives the frames taken there in turn, exposure and temperature are what the table says.
 *          Time is the recording's own: waiting for the lens takes none.
 * Throws   as openRecordedFolder; later `camera-closed`, `lens-power-out-of-range`, `target-not-placeable`,
 *          `image-unreadable`.
 */
export async function openRecordedBench(folder: string): Promise<Bench> {
  const recording = await openRecordedFolder(folder);
  const first = await recording.readImage(recording.rows[0]!);
  const id = `frames:${basename(resolve(folder))}`;
  const clock = recordingClock();
  const distancesMm = increasing(recording.rows.map((row) => row.workingDistanceMm));
  let distanceMm = distancesMm[0]!;
  let powersDpt = powersAt(distanceMm);
  let powerDpt = powersDpt[0]!;
  let grabbed = 0;
  let closed = false;
  const taken = new Map<string, number>();

  function powersAt(workingDistanceMm: number): number[] {
    return increasing(
      recording.rows.filter((row) => row.workingDistanceMm === workingDistanceMm).map((row) => row.focalPowerDpt),
    );
  }
  function rowsHere(): RecordedRow[] {
    return recording.rows.filter((row) => row.workingDistanceMm === distanceMm && row.focalPowerDpt === powerDpt);
  }
  function requireOpen(): void {
    if (closed) throw new FocuswrightError('camera-closed', { id });
  }

  const camera = completeCamera({
    id,
    simulated: recording.rows.some(({ source }) => source?.startsWith('sim:')),
    clock,
    async identify() {
      requireOpen();
      return { id, model: `recorded frames (${recording.rows.length})`, lensModel: 'as recorded' };
    },
    async capabilities(): Promise<CameraCapabilities> {
      requireOpen();
      const known = recording.rows.flatMap((row) => row.exposureMs ?? []);
      const exposures = known.length > 0 ? known : [0];
      return {
        ...plainCapabilities,
        widthPx: first.widthPx,
        heightPx: first.heightPx,
        bitDepth: first.bitDepth,
        sensorWidthPx: first.widthPx,
        sensorHeightPx: first.heightPx,
        pixelFormats: [`Mono${first.bitDepth}`],
        powerMinDpt: powersDpt[0]!,
        powerMaxDpt: powersDpt.at(-1)!,
        powersDpt,
        exposureMinMs: Math.min(...exposures),
        exposureMaxMs: Math.max(...exposures),
        frameRateHz: 1000,
        hasTemperature: recording.rows.some((row) => row.temperatureDegC !== null),
      };
    },
    async setFocalPower({ focalPowerDpt }) {
      requireOpen();
      requireNumber('focalPowerDpt', focalPowerDpt, { unit: 'dpt' });
      const lowest = powersDpt[0]!;
      const highest = powersDpt.at(-1)!;
      if (focalPowerDpt < lowest || focalPowerDpt > highest) {
        throw new FocuswrightError('lens-power-out-of-range', {
          focalPowerDpt,
          allowed: `${lowest} … ${highest} dpt, as recorded at ${distanceMm} mm`,
        });
      }
      powerDpt = nearest(powersDpt, focalPowerDpt);
      return powerDpt;
    },
    async setExposure() {
      requireOpen();
      return rowsHere()[0]?.exposureMs ?? null;
    },
    async lensStatus() {
      requireOpen();
      return {
        focalPowerDpt: powerDpt,
        currentMa: null,
        temperatureDegC: rowsHere()[0]?.temperatureDegC ?? null,
        state: 'ready',
      };
    },
    async grab({ signal = neverCancelled } = {}): Promise<Frame> {
      requireOpen();
      throwIfCancelled(signal, 'grab');
      const here = rowsHere();
      const key = `${distanceMm} ${powerDpt}`;
      const turn = taken.get(key) ?? 0;
      taken.set(key, turn + 1);
      const row = here[turn % here.length]!;
      const image = await recording.readImage(row);
      const { exposureMs } = row;
      const startMs = clock.nowMs();
      await clock.sleep(exposureMs ?? 0);
      return {
        image,
        frameId: grabbed++,
        focalPowerDpt: row.focalPowerDpt,
        exposureMs,
        temperatureDegC: row.temperatureDegC,
        exposedAtMs: startMs + (exposureMs ?? 0) / 2,
        arrivedAtMs: clock.nowMs(),
        source: row.source ?? id,
        fileName: row.file,
      };
    },
    async park() {
      /* a recording has no lens to bring to rest */
    },
    async close() {
      closed = true;
    },
  });

  const stage: TargetStage = {
    distancesMm,
    async placeTarget({ workingDistanceMm }) {
      const found = nearest(distancesMm, requireNumber('workingDistanceMm', workingDistanceMm, { unit: 'mm' }));
      if (Math.abs(found - workingDistanceMm) > 0.01) {
        throw new FocuswrightError('target-not-placeable', {
          workingDistanceMm,
          recorded: distancesMm.map((d) => `${d} mm`),
        });
      }
      distanceMm = found;
      powersDpt = powersAt(found);
      powerDpt = nearest(powersDpt, powerDpt);
      return found;
    },
  };
  return { camera, stage };
}

function increasing(values: readonly number[]): number[] {
  return [...new Set(values)].sort((a, b) => a - b);
}

function nearest(values: readonly number[], wanted: number): number {
  return values.reduce((best, v) => (Math.abs(v - wanted) < Math.abs(best - wanted) ? v : best));
}

/** Time of a recording: moves only when something waits for it. */
function recordingClock(): Clock {
  let nowMs = 0;
  return {
    nowMs: () => nowMs,
    async sleep(durationMs) {
      nowMs += Math.max(0, durationMs);
    },
  };
}
