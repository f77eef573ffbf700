import { mmPerM, perMmFromPerPx } from '../../base/index.js';
import {
  defocusOtfWithSlope,
  defocusWavesFromPower,
  type LayoutModel,
  normalisedFrequency,
  pixelMtf,
  pupilView,
  vergenceFromPupilPerMm,
  wavefrontErrorMtf,
} from '../../optics/index.js';
import { blurStagesOf, type Station } from '../../station/index.js';
import type { SceneRing, SpectrumRing } from './focus-information.js';

/**
 * What frames at given powers see of each ring, and how that changes with best focus.
 *
 * Model    signed transfer function of defocus, times wavefront error and pixel; target at rest on the axis. A change of
 *          best focus moves the defocus of every probe as an equal and opposite change of its power would
 * Input    powers as light meets them; `workingDistanceMm` of the target
 */
export function probedRings({
  station,
  model,
  rings,
  workingDistanceMm,
  probesDpt,
}: {
  station: Station;
  model: LayoutModel;
  rings: readonly SceneRing[];
  workingDistanceMm: number;
  probesDpt: readonly number[];
}): SpectrumRing[] {
  const stages = blurStagesOf({ station, magnification: 0, moving: false });
  const { wavelengthNm, pixelPitchUm = 0, wavefrontErrorRmsWaves = 0 } = stages;
  const defocusAt = (focalPowerDpt: number) => {
    const view = pupilView({ model, focalPowerDpt });
    const vergencePerMm = vergenceFromPupilPerMm({ view, model, workingDistanceMm });
    const powerChangeDpt = mmPerM * (vergencePerMm - view.focusVergencePerMm);
    const waves = defocusWavesFromPower({ pupilDiameterMm: view.diameterMm, powerChangeDpt, wavelengthNm });
    return { waves, workingFNumber: view.workingFNumber };
  };
  const stepDpt = 1e-3;
  const probes = probesDpt.map((probeDpt) => {
    const { waves, workingFNumber } = defocusAt(probeDpt);
    const wavesPerDpt = (defocusAt(probeDpt + stepDpt).waves - waves) / stepDpt;
    return { waves, workingFNumber, wavesPerDpt };
  });
  return rings.map(({ frequencyPerPx, coefficientCount, sceneToNoiseRatio }) => {
    const spatialFrequencyPerMm = perMmFromPerPx({ frequencyPerPx, pixelPitchUm });
    const pixel = pixelMtf({ spatialFrequencyPerMm, pixelPitchUm });
    const transfer: number[] = [];
    const transferSlopePerDpt: number[] = [];
    for (const { waves, workingFNumber, wavesPerDpt } of probes) {
      const s = normalisedFrequency({ spatialFrequencyPerMm, wavelengthNm, workingFNumber });
      const { otf, slopePerWave } = defocusOtfWithSlope({ normalisedFrequency: s, defocusWaves: waves });
      const still = pixel * wavefrontErrorMtf({ normalisedFrequency: s, wavefrontErrorRmsWaves });
      transfer.push(otf * still);
      transferSlopePerDpt.push(-slopePerWave * wavesPerDpt * still);
    }
    return { coefficientCount, sceneToNoiseRatio, transfer, transferSlopePerDpt };
  });
}
