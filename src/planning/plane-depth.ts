import {
  type BlurStages,
  blurDiscDepthOfField,
  comaMtfFast,
  contrastDepthOfField,
  type DepthOfField,
  type LayoutModel,
  normalisedFrequency,
  quarterWaveDepthOfField,
  type TracedSystem,
} from '../optics/index.js';
import { type DepthOfFieldRecord, focusHalfWidthDpt, type PlanePrediction, type Station } from '../station/index.js';

const noDepth = { kind: 'none' } as const;

/** Depth of field at one plane, and how far the power may be off there. */
export interface PlaneDepth {
  depthOfField: PlanePrediction['depthOfField'];
  depthOfFieldMm: number | null;
  /** Half-width by task contrast; 0 where the contrast is not reached, the lens's whole range where it never fails. */
  allowedHalfWidthDpt: number;
}

/**
 * Depth of field at a focused plane by blur disc, quarter wave and task contrast. The last one decides.
 *
 * Model    blurDiscDepthOfField, quarterWaveDepthOfField, contrastDepthOfField; a detail of fixed size on the object.
 *          Coma counts as the factor it has in focus
 * Returns  null for a criterion whose limit the optics cannot tell, where the sharp range begins at the front.
 */
export function planeDepth({
  station,
  model,
  system,
  stages,
  frequencyPerMm,
  focalPowerDpt,
}: {
  station: Station;
  model: LayoutModel;
  /** The layout at the power. */
  system: TracedSystem;
  /** What blurs beside defocus; see sharpnessStagesOf. */
  stages: BlurStages;
  /** The task's, on the sensor. */
  frequencyPerMm: number;
  focalPowerDpt: number;
}): PlaneDepth {
  const { task, parts } = station;
  const at = { model, focalPowerDpt };
  const blurDiameterUm = task.blurDiscMaxPx * parts.sensor.pixelPitchUm;
  const withoutComa = task.contrastNeeded / comaFactorAt({ system, stages, frequencyPerMm });
  const contrast =
    withoutComa >= 1
      ? noDepth
      : orNull(() =>
          contrastDepthOfField({
            ...at,
            ...stages,
            comaRmsWaves: 0,
            spatialFrequencyPerMm: 1 / (2 * task.smallestFeatureMm),
            frequencyOn: 'object',
            contrastThreshold: withoutComa,
          }),
        );
  const reached = contrast?.kind === 'depth' ? contrast : null;
  return {
    depthOfField: {
      blurDisc: recordOf(
        orNull(() => blurDiscDepthOfField({ ...at, blurDiameterUm })),
        'blur-disc',
      ),
      quarterWave: recordOf(
        orNull(() => quarterWaveDepthOfField({ ...at, wavelengthNm: parts.light.wavelengthNm })),
        'quarter-wave',
      ),
      taskContrast: recordOf(reached, 'task-contrast'),
    },
    depthOfFieldMm: contrast === null ? null : (reached?.totalMm ?? (reached ? null : 0)),
    allowedHalfWidthDpt:
      focusHalfWidthDpt({
        station,
        system,
        stages,
        frequencyPerMm,
        contrastNeeded: task.contrastNeeded,
      }) ?? 0,
  };
}

/** What coma leaves of the contrast at a frequency, in focus. */
function comaFactorAt({
  system: { workingFNumber },
  stages: { wavelengthNm, comaRmsWaves = 0 },
  frequencyPerMm,
}: {
  system: TracedSystem;
  stages: BlurStages;
  frequencyPerMm: number;
}): number {
  if (comaRmsWaves === 0) return 1;
  const s = normalisedFrequency({ spatialFrequencyPerMm: frequencyPerMm, wavelengthNm, workingFNumber });
  return comaMtfFast({ normalisedFrequency: s, comaRmsWaves });
}

function recordOf(depth: DepthOfField | null, criterion: DepthOfFieldRecord['criterion']): DepthOfFieldRecord | null {
  if (!depth) return null;
  const { nearMm, farMm, totalMm, nearHalfWidthDpt, farHalfWidthDpt } = depth;
  return { criterion, nearMm, farMm, totalMm, nearHalfWidthDpt, farHalfWidthDpt };
}

/** The optics throw RangeError where a limit passes the front of the optics or is never met. */
function orNull<T>(compute: () => T): T | null {
  try {
    return compute();
  } catch (error) {
    if (error instanceof RangeError) return null;
    throw error;
  }
}
