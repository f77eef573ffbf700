import { type Blur, radialEntryCount, sinc } from './blur.js';
import { directionCount } from './coma-pupil-otf.js';
import type { ExposureLight, LightLine, PupilLine } from './light-lines.js';
import { type PolarTransfer, polarRadiusCount } from './polar-transfer.js';
import { rowLength, sampleOfFrequency } from './pupil-otf.js';
import { highestFrequencyPerMm, type RenderGrid } from './render-grid.js';

/**
 * The blur of one exposure.
 *
 * Model    pupil OTF at the defocus of every part of the exposure and every wavelength of the light: the mean of the signed
 *          values; square pixel, sensitive over its whole pitch; smear along x. Magnification is that of the middle of the
 *          exposure.
 * Formula  H(ν) = mean_t Σ_λ w·OTF_λ(ν·λ·N; (W20(t) + shift)·λ₀/λ − W040) · sinc(ν_x·p)·sinc(ν_y·p)·sinc(ν_x·smear), divided by the
 *          sinc of the scene's cells
 * Input    `defocusWaves`: W20 of the centre wavelength in the middle of equal parts of the exposure; 0 counts as focused
 *          where the wavefront's variance is least, at −W040. `smearMm`: way of the object during the exposure.
 * Trust    no astigmatism; the lens's breathing within the exposure is left out.
 */
export function blurOfExposure({
  grid,
  light,
  defocusWaves,
  workingFNumber,
  wavelengthNm,
  pixelPitchMm,
  magnification,
  smearMm = 0,
}: {
  grid: RenderGrid;
  light: ExposureLight;
  defocusWaves: Float64Array;
  workingFNumber: number;
  wavelengthNm: number;
  pixelPitchMm: number;
  magnification: number;
  smearMm?: number;
}): Blur {
  const sPerObjectFrequencyMm = (wavelengthNm * 1e-6 * workingFNumber) / magnification;
  const highestS = highestFrequencyPerMm(grid) * sPerObjectFrequencyMm;
  const pixelOnObjectMm = pixelPitchMm / magnification;
  return {
    ...(light.kind === 'round'
      ? { radialTransfer: radialTransferOf(light.lines, defocusWaves, highestS), polarTransfer: null }
      : { radialTransfer: null, polarTransfer: polarTransferOf(light.lines, defocusWaves, highestS) }),
    columnTransfer: apertureFactors(grid.halfColumnCount, grid.gridColumnCount, [
      pixelOnObjectMm / grid.periodWidthMm,
      smearMm / grid.periodWidthMm,
    ]),
    rowTransfer: apertureFactors(grid.halfRowCount, grid.gridRowCount, [pixelOnObjectMm / grid.periodHeightMm]),
    pixelOnObjectMm,
  };
}

type RoundLines = Extract<ExposureLight, { kind: 'round' }>['lines'];
type DirectedLines = Extract<ExposureLight, { kind: 'directed' }>['lines'];

function radialTransferOf(lines: RoundLines, defocusWaves: Float64Array, highestS: number): Float32Array {
  const transfer = new Float32Array(radialEntryCount);
  for (const line of lines) {
    const row = paddedRow();
    for (const waves of defocusWaves) {
      line.pupil.addRow(inner(row), { defocusWaves: ofLine(line, waves), weight: line.weight / defocusWaves.length });
    }
    addResampled(row, line, { transfer, from: 0, count: radialEntryCount, highestS });
  }
  return transfer;
}

function polarTransferOf(lines: DirectedLines, defocusWaves: Float64Array, highestS: number): PolarTransfer {
  const real = new Float32Array(directionCount * polarRadiusCount);
  const imaginary = new Float32Array(directionCount * polarRadiusCount);
  for (const line of lines) {
    const rows = Array.from({ length: directionCount }, () => ({ real: paddedRow(), imaginary: paddedRow() }));
    const inside = rows.map((row) => ({ real: inner(row.real), imaginary: inner(row.imaginary) }));
    for (const waves of defocusWaves) {
      line.pupil.addRows(inside, { defocusWaves: ofLine(line, waves), weight: line.weight / defocusWaves.length });
    }
    for (const [direction, row] of rows.entries()) {
      const to = { from: direction * polarRadiusCount, count: polarRadiusCount, highestS };
      addResampled(row.real, line, { transfer: real, ...to });
      addResampled(row.imaginary, line, { transfer: imaginary, ...to });
    }
  }
  return { real, imaginary };
}

/** Defocus of one wavelength, in its own waves. */
const ofLine = ({ shiftWaves, wavelengthRatio, sphericalWaves }: LightLine, defocusWaves: number): number =>
  (defocusWaves + shiftWaves) / wavelengthRatio - sphericalWaves;

/** A row with one sample more before and two behind, as `between` needs them. */
const paddedRow = (): Float64Array => new Float64Array(rowLength + 3);
const inner = (row: Float64Array): Float64Array => row.subarray(1, rowLength + 1);

/** Adds a row over its own wavelength's s to evenly spaced entries over the centre's. */
function addResampled(
  row: Float64Array,
  { pupil, wavelengthRatio }: PupilLine<{ highestS: number }>,
  { transfer, from, count, highestS }: { transfer: Float32Array; from: number; count: number; highestS: number },
): void {
  row[0] = row[2]!;
  row[rowLength + 1] = row[rowLength]!;
  row[rowLength + 2] = row[rowLength]!;
  const stepS = (highestS * wavelengthRatio) / (count - 1);
  for (let i = 0; i < count; i++) {
    const s = i * stepS;
    if (s >= 1) break;
    transfer[from + i]! += between(row, Math.min(rowLength - 1, sampleOfFrequency(s, pupil.highestS)));
  }
}

/** Pixel, smear and the correction of the scene's cells for |k| = 0 … halfCount; `widths` in periods. */
function apertureFactors(halfCount: number, sampleCount: number, widths: readonly number[]): Float32Array {
  return Float32Array.from({ length: halfCount + 1 }, (_, k) =>
    widths.reduce((product, width) => product * sinc(k * width), 1 / sinc(k / sampleCount)),
  );
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
