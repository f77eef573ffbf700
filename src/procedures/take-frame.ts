import { FocuswrightError, throwIfCancelled } from '../base/index.js';
import type { Frame } from '../devices/index.js';
import type { EvidenceFrame } from '../station/index.js';
import type { Run } from './run-context.js';
import { settlingWaitMs } from './sweep/settling-wait.js';

const mostLostFrames = 2;
const mostSlowFrames = 5;

/**
 * Grabs one frame at a settled lens and keeps it as evidence, once.
 *
 * Model    a lost frame is grabbed again, twice at most; a frame whose read-back power is not yet near the command is let
 *          go and grabbed again after another settling time, five times at most.
 * Throws   `frame-lost`, `lens-not-moving`, `cancelled`, or what the camera throws.
 */
export async function takeFrame(
  run: Run,
  {
    workingDistanceMm,
    commandedDpt,
    nearEnoughDpt,
    purpose,
  }: { workingDistanceMm: number; commandedDpt: number; nearEnoughDpt: number; purpose: EvidenceFrame['purpose'] },
): Promise<{ frame: Frame; file: string }> {
  const { repeatabilityDpt, controlStepDpt } = run.station.parts.tunableLens;
  const allowedDpt = nearEnoughDpt + 5 * repeatabilityDpt + 2 * controlStepDpt;
  for (let slow = 0; ; slow++) {
    const frame = await grabUnlost(run);
    const offDpt = Math.abs(frame.focalPowerDpt - commandedDpt);
    if (offDpt <= allowedDpt) return keep(run, frame, { workingDistanceMm, purpose });
    if (slow === mostSlowFrames) {
      throw new FocuswrightError('lens-not-moving', {
        commandedDpt,
        readBackDpt: frame.focalPowerDpt,
        allowedDifferenceDpt: allowedDpt,
      });
    }
    const wait = { station: run.station, stepDpt: offDpt, toleranceDpt: allowedDpt / 10 };
    await run.bench.camera.clock.sleep(settlingWaitMs(wait));
  }
}

async function grabUnlost(run: Run): Promise<Frame> {
  for (let lost = 0; ; lost++) {
    throwIfCancelled(run.signal, 'grabbing a frame');
    try {
      return await run.bench.camera.grab({ signal: run.signal });
    } catch (error) {
      const again = error instanceof FocuswrightError && error.code === 'frame-lost' && lost < mostLostFrames;
      if (!again) throw error;
    }
  }
}

async function keep(
  run: Run,
  frame: Frame,
  { workingDistanceMm, purpose }: { workingDistanceMm: number; purpose: EvidenceFrame['purpose'] },
): Promise<{ frame: Frame; file: string }> {
  const label = `${purpose}-${workingDistanceMm.toFixed(1)}mm-${frame.focalPowerDpt.toFixed(3)}dpt`;
  const { file, sha256 } = await run.evidence.keepFrame(frame, label);
  run.journal.frames.push({
    file,
    sha256,
    focalPowerDpt: frame.focalPowerDpt,
    workingDistanceMm,
    exposureMs: frame.exposureMs,
    temperatureDegC: frame.temperatureDegC,
    purpose,
  });
  return { frame, file };
}
