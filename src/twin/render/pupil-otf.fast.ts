import { mostDefocusWaves, overlapTableFor, type PupilOtf, rowLength } from './pupil-otf.js';

/** Rows of defocus per wave; the transfer function of W holds no faster ripple than one period a wave. */
const rowsPerWave = 16;
/** Rows that are filled together, each from the one before by a rotation. */
const runLength = 8;
/** Pupils whose rows are kept, for benches of the same lens one after another. */
const mostPupils = 32;

const keptPupils = new Map<string, PupilOtf>();

/**
 * As pupilOtf, from rows that are kept and read between: for a lens in motion, several wavelengths, frame after frame.
 *
 * Model    as pupilOtf; rows every 1/16 wave, filled when first needed, six-point (Lagrange) interpolation over defocus
 * Cost     filling 8 rows costs about twice one row of pupilOtf; reading about a thousandth of that per frequency.
 * Trust    within 1e-4 of pupilOtf.
 * Checked  property: equals pupilOtf, tests/twin/render/pupil-otf.test.ts
 */
export function fastPupilOtf(pupil: { sphericalWaves: number; highestS: number }): PupilOtf {
  const key = `${pupil.sphericalWaves}/${pupil.highestS}`;
  const kept = keptPupils.get(key) ?? keptRows(pupil);
  keptPupils.delete(key);
  keptPupils.set(key, kept);
  if (keptPupils.size > mostPupils) keptPupils.delete(keptPupils.keys().next().value!);
  return kept;
}

function keptRows({ sphericalWaves, highestS }: { sphericalWaves: number; highestS: number }): PupilOtf {
  const runs = new Map<number, Float32Array>();
  const rowAt = (index: number): Float32Array => {
    const run = Math.floor(index / runLength);
    let rows = runs.get(run);
    if (rows === undefined) {
      rows = fillRun({ sphericalWaves, highestS, firstWaves: (run * runLength) / rowsPerWave });
      runs.set(run, rows);
    }
    const from = (index - run * runLength) * rowLength;
    return rows.subarray(from, from + rowLength);
  };
  return {
    highestS,
    addRow(row, { defocusWaves, weight }) {
      const place = Math.max(-mostDefocusWaves, Math.min(mostDefocusWaves, defocusWaves)) * rowsPerWave;
      const low = Math.floor(place);
      lagrangeWeights(place - low).forEach((share, k) => {
        if (share === 0) return;
        const samples = rowAt(low - 2 + k);
        const factor = weight * share;
        for (let i = 0; i < rowLength; i++) row[i]! += factor * samples[i]!;
      });
    },
  };
}

/** Weights of samples at −2 … 3 for a place 0 … 1. */
function lagrangeWeights(t: number): number[] {
  return [-2, -1, 0, 1, 2, 3].map((node, _, nodes) =>
    nodes.reduce((product, other) => (other === node ? product : (product * (t - other)) / (node - other)), 1),
  );
}

/** `runLength` rows from a defocus on. */
function fillRun({
  sphericalWaves,
  highestS,
  firstWaves,
}: {
  sphericalWaves: number;
  highestS: number;
  firstWaves: number;
}): Float32Array {
  const { nodeCount, phasePerWave, real, imaginary } = overlapTableFor({
    sphericalWaves,
    highestS,
    defocusWaves: Math.abs(firstWaves) + runLength / rowsPerWave,
  });
  const rows = new Float32Array(runLength * rowLength);
  const sums = new Float64Array(runLength);
  for (let i = 0; i < rowLength; i++) {
    sums.fill(0);
    for (let j = i * nodeCount; j < (i + 1) * nodeCount; j++) {
      const phase = firstWaves * phasePerWave[j]!;
      const turn = phasePerWave[j]! / rowsPerWave;
      const [cosine, sine, turnCosine, turnSine] = [Math.cos(phase), Math.sin(phase), Math.cos(turn), Math.sin(turn)];
      let a = real[j]! * cosine - imaginary[j]! * sine;
      let b = real[j]! * sine + imaginary[j]! * cosine;
      for (let k = 0; k < runLength; k++) {
        sums[k]! += a;
        const next = a * turnCosine - b * turnSine;
        b = a * turnSine + b * turnCosine;
        a = next;
      }
    }
    for (let k = 0; k < runLength; k++) rows[k * rowLength + i] = sums[k]!;
  }
  return rows;
}
