import { readFile } from 'node:fs/promises';
import { z } from 'zod';
import { FocuswrightError, systemReason } from '../base/index.js';
import type { RecordedRow } from '../drivers/index.js';
import type { DistanceOfPower } from '../image/index.js';
import { focalPowerActualDpt, workingDistanceAt } from '../optics/index.js';
import { distanceForPower, type FittedCalibration } from '../procedures/index.js';
import { layoutModelOf, type Station } from '../station/index.js';

/** Where distances come from, for the record. */
export type DistanceSource = { kind: 'calibration'; file: string; predicted95Dpt: number } | { kind: 'optical-model' };

/**
 * Which distance a power of a sweep focuses: by a handover's calibration, or by the station's optical model.
 *
 * Model    the lens's mean temperature, where the rows tell it, shifts the power by the station's coefficient
 * Throws   `calibration-unusable` for a file that cannot be read, or that holds no fitted calibration.
 */
export async function distancesOfSweep({
  rows,
  station,
  calibrationFile,
}: {
  rows: readonly RecordedRow[];
  station: Station;
  calibrationFile: string | null;
}): Promise<{ distanceOf: DistanceOfPower; source: DistanceSource }> {
  const { temperatureCoefficientDptPerDegC, referenceTemperatureDegC } = station.parts.tunableLens;
  const known = rows.flatMap((row) => row.temperatureDegC ?? []);
  const temperatureDegC = known.length ? known.reduce((a, b) => a + b) / known.length : referenceTemperatureDegC;
  if (calibrationFile !== null) {
    const calibration = await readCalibration(calibrationFile);
    const lens = { temperatureDegC, temperatureCoefficientDptPerDegC };
    const predicted95Dpt = Math.max(...calibration.curve.map((point) => point.predicted95Dpt));
    return {
      distanceOf: withSlope(
        (focalPowerDpt) => distanceForPower({ calibration, focalPowerDpt, lens })?.workingDistanceMm ?? null,
      ),
      source: { kind: 'calibration', file: calibrationFile, predicted95Dpt },
    };
  }
  const model = layoutModelOf(station);
  const state = { gain: 1, offsetDpt: 0, temperatureDegC, referenceTemperatureDegC, temperatureCoefficientDptPerDegC };
  const distanceOf = withSlope((commandedDpt) => {
    const focus = workingDistanceAt({ model, focalPowerDpt: focalPowerActualDpt({ commandedDpt, ...state }) });
    return focus.kind === 'real' ? focus.workingDistanceMm : null;
  });
  return { distanceOf, source: { kind: 'optical-model' } };
}

const slopeStepDpt = 1e-3;

/** Adds the slope; one-sided at the end of what is known. */
function withSlope(at: (focalPowerDpt: number) => number | null): DistanceOfPower {
  return (focalPowerDpt) => {
    const here = at(focalPowerDpt);
    if (here === null) return null;
    const [below, above] = [at(focalPowerDpt - slopeStepDpt), at(focalPowerDpt + slopeStepDpt)];
    const width = (below === null ? 0 : slopeStepDpt) + (above === null ? 0 : slopeStepDpt);
    return {
      workingDistanceMm: here,
      slopeMmPerDpt: width === 0 ? Number.NaN : ((above ?? here) - (below ?? here)) / width,
    };
  };
}

const calibrationSchema = z.object({
  calibration: z.object({
    kind: z.literal('fitted'),
    referenceTemperatureDegC: z.number(),
    curve: z
      .array(z.object({ workingDistanceMm: z.number(), focalPowerDpt: z.number(), predicted95Dpt: z.number() }))
      .min(2),
  }),
});

/** The fitted calibration of a handover's results.json. Throws `calibration-unusable`. */
export async function readCalibration(file: string): Promise<FittedCalibration> {
  try {
    const text = await readFile(file, 'utf8');
    return calibrationSchema.parse(JSON.parse(text)).calibration as FittedCalibration;
  } catch (cause) {
    const reason = cause instanceof z.ZodError ? 'it holds no fitted calibration' : systemReason(cause);
    throw new FocuswrightError('calibration-unusable', { file, reason }, { cause });
  }
}
