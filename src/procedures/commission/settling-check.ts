import type { FocusMeasure } from '../../image/index.js';
import type { AutofocusRecord, SweepPoint } from '../../station/index.js';
import { focusHalfWidthDpt } from '../focus-half-width.js';
import { moveLens } from '../move-lens.js';
import type { Run } from '../run-context.js';
import { centreHalf, judgeFrame, settleFraction } from '../sweep/run.js';
import { settlingWaitMs } from '../sweep/settling-wait.js';
import { takeFrame } from '../take-frame.js';

/** What a lens is still off after the wait that the procedures use. */
export interface SettlingFinding {
  /** Step of the check. */
  stepDpt: number;
  waitMs: number;
  /** Power at the usual wait less power long after, seen by the sharpness on the flank of the focus curve. */
  residualDpt: number;
  residualStdDpt: number;
}

/** The long wait, in usual waits. */
const longWaits = 25;

/**
 * Checks that the lens settles in the time that its datasheet promises.
 *
 * Model    a large step ends on the steepest flank of the focus curve just measured; one frame after the usual wait, one
 *          long after. Their difference in sharpness over the slope of the curve is what the lens still moved.
 * Formula  residual = (m_early − m_late) / slope
 * Returns  null for recorded frames, and where no focus was found or the flank is too flat to see a tenth of the depth of
 *          field.
 * Trust    a creep slower than the long wait is not seen.
 */
export async function checkSettling(
  run: Run,
  { focus, measure }: { focus: AutofocusRecord; measure: FocusMeasure },
): Promise<SettlingFinding | null> {
  const { camera } = run.bench;
  const limits = await camera.capabilities();
  const { workingDistanceMm } = focus;
  const halfWidthDpt = focusHalfWidthDpt({ station: run.station, workingDistanceMm });
  const flank = focus.kind === 'found' ? steepestFlank(focus.sweep.points) : null;
  if (!flank || limits.powersDpt || flank.noiseDpt > halfWidthDpt / 10) return null;
  const settleToDpt = settleFraction * halfWidthDpt;
  const below = flank.focalPowerDpt - limits.powerMinDpt > limits.powerMaxDpt - flank.focalPowerDpt;
  const startDpt = below ? limits.powerMinDpt : limits.powerMaxDpt;
  await moveLens(run, { focalPowerDpt: startDpt, settleToDpt });
  const commandedDpt = await moveLens(run, { focalPowerDpt: flank.focalPowerDpt, settleToDpt });
  const stepDpt = commandedDpt - startDpt;
  const waitMs = settlingWaitMs({ station: run.station, stepDpt, toleranceDpt: settleToDpt });
  const look = async () => {
    const { frame } = await takeFrame(run, {
      workingDistanceMm,
      commandedDpt,
      nearEnoughDpt: halfWidthDpt / 4,
      purpose: 'sweep',
    });
    return judgeFrame({ station: run.station, image: frame.image, region: centreHalf(frame.image), measure });
  };
  const early = await look();
  await camera.clock.sleep(longWaits * waitMs);
  const late = await look();
  return {
    stepDpt,
    waitMs,
    residualDpt: (early.measure - late.measure) / flank.slopePerDpt,
    residualStdDpt: Math.abs(Math.hypot(early.measureStd, late.measureStd) / flank.slopePerDpt),
  };
}

/** The steepest place between neighbouring points, in units of their noise. */
function steepestFlank(
  points: readonly SweepPoint[],
): { focalPowerDpt: number; slopePerDpt: number; noiseDpt: number } | null {
  const flanks = points.slice(1, -1).map((point, i) => {
    const [before, after] = [points[i]!, points[i + 2]!];
    const slopePerDpt = (after.measure - before.measure) / (after.focalPowerDpt - before.focalPowerDpt);
    return {
      focalPowerDpt: point.focalPowerDpt,
      slopePerDpt,
      noiseDpt: (point.measureStd ?? 0) / Math.abs(slopePerDpt),
    };
  });
  return flanks.length === 0
    ? null
    : flanks.reduce((a, b) => (Math.abs(b.slopePerDpt) > Math.abs(a.slopePerDpt) ? b : a));
}
