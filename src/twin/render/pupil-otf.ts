import { gaussLegendre, type QuadratureRule } from '../../optics/gauss-legendre.js';

/** Samples of the transfer function along s, at s = s_max·(i / (count − 1))²: densest where a strong blur falls fastest. */
export const rowLength = 384;
/** Defocus beyond this is drawn as this much: the image is featureless long before. */
export const mostDefocusWaves = 120;
/** Nodes across the pupil overlap along the shear, by how many waves of defocus they must follow. */
const nodeCounts = [32, 64, 128, 256, 512];
const acrossRule = gaussLegendre(10);

/** Transfer functions of one aberrated pupil at any defocus. */
export interface PupilOtf {
  /** Highest frequency of a row, as a fraction of the optical cutoff. */
  highestS: number;
  /** Adds `weight` times the row for a defocus to `row`. */
  addRow(row: Float64Array, at: { defocusWaves: number; weight: number }): void;
}

/**
 * Transfer function of the circular pupil with a fixed spherical aberration, fast for defocus after defocus.
 *
 * Model    as aberratedOtf of src/optics, with the integral over y done once for all: it does not depend on defocus
 * Formula  OTF(s) = (4/π)·∫ Re[g(x, s)·exp(8πi·s·x·W20)] dx, g = exp(iσx(x² + s²))·∫ exp(iσxy²) dy, σ = 16π·s·W040
 * Input    `highestS`: frequencies reach from 0 to here, 0 < s ≤ 1, in units of the optical cutoff 1/(λN).
 * Trust    to 1e-6 up to 100 waves of defocus and 3 waves of spherical aberration; held at 120 waves beyond.
 * Source   Hopkins, Proc. R. Soc. A 231, 91 (1955), the overlap integral
 * Checked  reference: aberratedOtf at 400 places, tests/twin/render/pupil-otf.test.ts
 */
export function pupilOtf({ sphericalWaves, highestS }: { sphericalWaves: number; highestS: number }): PupilOtf {
  return {
    highestS,
    addRow(row, { defocusWaves, weight }) {
      const held = Math.max(-mostDefocusWaves, Math.min(mostDefocusWaves, defocusWaves));
      const { nodeCount, phasePerWave, real, imaginary } = overlapTableFor({
        sphericalWaves,
        highestS,
        defocusWaves: held,
      });
      for (let i = 0; i < rowLength; i++) {
        let sum = 0;
        for (let j = i * nodeCount; j < (i + 1) * nodeCount; j++) {
          const phase = held * phasePerWave[j]!;
          sum += real[j]! * Math.cos(phase) - imaginary[j]! * Math.sin(phase);
        }
        row[i]! += weight * sum;
      }
    },
  };
}

/** For every s and node x: phase for one wave of defocus, and weight × g(x, s). */
export interface OverlapTable {
  nodeCount: number;
  phasePerWave: Float64Array;
  real: Float64Array;
  imaginary: Float64Array;
}

const keptTables = new Map<string, OverlapTable>();
const mostTables = 24;

/** The table with nodes enough for a defocus; the last ones are kept. */
export function overlapTableFor({
  sphericalWaves,
  highestS,
  defocusWaves,
}: {
  sphericalWaves: number;
  highestS: number;
  defocusWaves: number;
}): OverlapTable {
  const needed = 4 * Math.abs(defocusWaves) + 24;
  const nodeCount = nodeCounts.find((count) => count >= needed) ?? nodeCounts.at(-1)!;
  const key = `${sphericalWaves}/${highestS}/${nodeCount}`;
  let table = keptTables.get(key);
  if (table === undefined) {
    table = overlapTable({ sphericalWaves, highestS, nodeCount });
    keptTables.set(key, table);
    if (keptTables.size > mostTables) keptTables.delete(keptTables.keys().next().value!);
  }
  return table;
}

function overlapTable({
  sphericalWaves,
  highestS,
  nodeCount,
}: {
  sphericalWaves: number;
  highestS: number;
  nodeCount: number;
}): OverlapTable {
  const along: QuadratureRule = gaussLegendre(nodeCount);
  const phasePerWave = new Float64Array(rowLength * nodeCount);
  const real = new Float64Array(rowLength * nodeCount);
  const imaginary = new Float64Array(rowLength * nodeCount);
  for (let i = 0; i < rowLength; i++) {
    const s = frequencyOfSample(i, highestS);
    const sphericalPhase = 16 * Math.PI * s * sphericalWaves;
    for (let j = 0; j < nodeCount; j++) {
      // x = (1 − s)(1 − v²) takes the square root out of the end of the overlap.
      const v = (1 + along.nodes[j]!) / 2;
      const x = (1 - s) * (1 - v * v);
      const height = Math.sqrt(Math.max(0, 1 - (x + s) ** 2));
      const weight = (4 / Math.PI) * along.weights[j]! * (1 - s) * v * height;
      let c = 0;
      let d = 0;
      for (let k = 0; k < acrossRule.nodes.length; k++) {
        const y = (height * (1 + acrossRule.nodes[k]!)) / 2;
        const phase = sphericalPhase * x * (x * x + y * y + s * s);
        c += (acrossRule.weights[k]! / 2) * Math.cos(phase);
        d += (acrossRule.weights[k]! / 2) * Math.sin(phase);
      }
      const at = i * nodeCount + j;
      phasePerWave[at] = 8 * Math.PI * s * x;
      real[at] = weight * c;
      imaginary[at] = weight * d;
    }
  }
  return { nodeCount, phasePerWave, real, imaginary };
}

/** Frequency of a sample of a row, as a fraction of the cutoff. */
export const frequencyOfSample = (index: number, highestS: number): number => highestS * (index / (rowLength - 1)) ** 2;

/** Place between samples of a frequency, 0 … rowLength − 1. */
export const sampleOfFrequency = (s: number, highestS: number): number => (rowLength - 1) * Math.sqrt(s / highestS);
