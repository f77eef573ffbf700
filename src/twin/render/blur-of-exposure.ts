import { type Blur, radialEntryCount, sinc } from './blur.js';
import { type PupilOtf, rowLength, sampleOfFrequency } from './pupil-otf.js';
import { highestFrequencyPerMm, type RenderGrid } from './render-grid.js';

/**
 * The blur of one exposure.
 *
 * Model    pupil OTF at the defocus of every part of the exposure: the mean of the signed values; square pixel, sensitive
 *          over its whole pitch. Magnification is that of the middle of the exposure.
 * Formula  H(ν) = mean_t OTF(ν·λ·N; W20(t)) · sinc(ν_x·p)·sinc(ν_y·p), divided by the sinc of the scene's cells
 * Input    `defocusWaves`: W20 in the middle of equal parts of the exposure, from the focus of least variance.
 * Trust    one wavelength; no coma, no astigmatism; the lens's breathing within the exposure is left out.
 */
export function blurOfExposure({
  grid,
  pupil,
  defocusWaves,
  workingFNumber,
  wavelengthNm,
  pixelPitchMm,
  magnification,
}: {
  grid: RenderGrid;
  pupil: PupilOtf;
  defocusWaves: Float64Array;
  workingFNumber: number;
  wavelengthNm: number;
  pixelPitchMm: number;
  magnification: number;
}): Blur {
  const row = new Float64Array(rowLength + 3);
  for (const waves of defocusWaves) {
    pupil.addRow(row.subarray(1), { defocusWaves: waves, weight: 1 / defocusWaves.length });
  }
  row[0] = row[2]!;
  row[rowLength + 1] = row[rowLength]!;
  row[rowLength + 2] = row[rowLength]!;
  const sPerObjectFrequencyMm = (wavelengthNm * 1e-6 * workingFNumber) / magnification;
  const stepS = (highestFrequencyPerMm(grid) * sPerObjectFrequencyMm) / (radialEntryCount - 1);
  const radialTransfer = new Float32Array(radialEntryCount);
  for (let i = 0; i < radialEntryCount; i++) {
    const s = i * stepS;
    radialTransfer[i] = s >= 1 ? 0 : between(row, Math.min(rowLength - 1, sampleOfFrequency(s, pupil.highestS)));
  }
  const pixelOnObjectMm = pixelPitchMm / magnification;
  return {
    radialTransfer,
    columnTransfer: apertureFactors(grid.halfColumnCount, grid.gridColumnCount, pixelOnObjectMm / grid.periodWidthMm),
    rowTransfer: apertureFactors(grid.halfRowCount, grid.gridRowCount, pixelOnObjectMm / grid.periodHeightMm),
    pixelOnObjectMm,
  };
}

function apertureFactors(halfCount: number, sampleCount: number, pixelPerPeriod: number): Float32Array {
  return Float32Array.from({ length: halfCount + 1 }, (_, k) => sinc(k * pixelPerPeriod) / sinc(k / sampleCount));
}

/** Cubic (Catmull–Rom) between samples; `row` has one sample more before and two behind. */
function between(row: Float64Array, place: number): number {
  const low = Math.floor(place);
  const t = place - low;
  const a = row[low]!;
  const b = row[low + 1]!;
  const c = row[low + 2]!;
  const d = row[low + 3]!;
  return b + 0.5 * t * (c - a + t * (2 * a - 5 * b + 4 * c - d + t * (3 * (b - c) + d - a)));
}
