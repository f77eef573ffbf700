import type { CalibrationRecord, ResolutionReading } from '../../station/index.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { moveLens, overshootDpt } from '../move-lens.js';
import type { Run } from '../run-context.js';
import { centreHalf, settleFraction } from '../sweep/run.js';
import { takeFrame } from '../take-frame.js';
import { compareEdge } from './compare-edge.js';
import { planCheckPower, type ResolutionPlace, resolutionPlaces, withoutCalibration } from './plan.js';

/**
 * Proves the resolution at near, middle and far: goes to best focus by the calibration, grabs one frame, measures an edge.
 *
 * Returns  a reading for each place, refusals included; they also stand in the run's journal.
 * Throws   `cancelled`, `target-not-placeable`, `lens-not-moving`, or what the bench throws.
 */
export async function runResolutionCheck(
  run: Run,
  {
    calibration,
    onProgress,
  }: { calibration: CalibrationRecord | null; onProgress?: (done: number, place: ResolutionPlace) => void },
): Promise<ResolutionReading[]> {
  const places = resolutionPlaces(run.station, run.bench.stage);
  for (const [done, place] of places.entries()) {
    onProgress?.(done, place);
    const reading = await checkPlace(run, calibration, place);
    run.journal.resolution.push(reading);
    const { result, name, workingDistanceMm } = reading;
    const measured = result.kind === 'measured' ? result : null;
    run.observer({
      type: 'resolution-read',
      name,
      workingDistanceMm,
      mtfAtTask: measured?.mtfAtTask.value ?? null,
      predictedMtfAtTask: measured?.predictedMtfAtTask ?? null,
      message: result.kind === 'refused' ? result.reason : `${result.orientation} edge`,
    });
  }
  return run.journal.resolution;
}

async function checkPlace(
  run: Run,
  calibration: CalibrationRecord | null,
  place: ResolutionPlace,
): Promise<ResolutionReading> {
  const { station, bench, signal } = run;
  if (calibration?.kind !== 'fitted') return { ...unread(run, place), result: withoutCalibration(calibration) };
  const workingDistanceMm = await bench.stage.placeTarget({ workingDistanceMm: place.workingDistanceMm, signal });
  const available = await bench.camera.capabilities();
  const { temperatureDegC } = await bench.camera.lensStatus();
  const { referenceTemperatureDegC, temperatureCoefficientDptPerDegC } = station.parts.tunableLens;
  const halfWidthDpt = focusHalfWidthDpt({ station, workingDistanceMm });
  const power = planCheckPower({
    calibration,
    workingDistanceMm,
    lens: { temperatureDegC: temperatureDegC ?? referenceTemperatureDegC, temperatureCoefficientDptPerDegC },
    available,
    halfWidthDpt,
  });
  const at = { ...unread(run, place), workingDistanceMm };
  if (power.kind === 'refused') return { ...at, result: power };
  const settleToDpt = settleFraction * halfWidthDpt;
  if (available.powersDpt === null) {
    const side = station.controls.approachFrom === 'below' ? -1 : 1;
    await moveLens(run, { focalPowerDpt: power.focalPowerDpt + side * overshootDpt(station), settleToDpt });
  }
  const commandedDpt = await moveLens(run, { focalPowerDpt: power.focalPowerDpt, settleToDpt });
  const { frame, file } = await takeFrame(run, {
    workingDistanceMm,
    commandedDpt,
    nearEnoughDpt: halfWidthDpt / 4,
    purpose: 'resolution',
  });
  const result = compareEdge({
    station,
    image: frame.image,
    region: centreHalf(frame.image),
    workingDistanceMm,
    offBestFocusDpt: commandedDpt - power.calibratedDpt,
    focusStdDpt: power.calibratedStdDpt,
  });
  return { ...at, focalPowerDpt: commandedDpt, frame: file, result };
}

/** A reading for which no frame was taken. */
const unread = (run: Run, { name, workingDistanceMm }: ResolutionPlace) => ({
  name,
  workingDistanceMm,
  focalPowerDpt: run.lastCommandDpt ?? run.station.controls.parkPowerDpt,
  frame: '',
});
