import { requireFinite, requireNotNegative, requirePositive } from '../base/index.js';
import { gaussLegendre, type QuadratureRule } from './gauss-legendre.js';
import { circleOverlapArea } from './vignetting.js';

/** A circle that bounds the pupil; lengths in radii of the full pupil, x along the frequency. */
export interface PupilDisc {
  centreX: number;
  centreY: number;
  radius: number;
}

/** A transfer function at one frequency; its modulus is the MTF. */
export interface ComplexOtf {
  real: number;
  imaginary: number;
}

/** y = sine of a node takes the square root out of the ends of a circle. */
interface RowRule extends QuadratureRule {
  readonly sines: Float64Array;
  /** dy / d node */
  readonly cosines: Float64Array;
}

/** Numbers of nodes, each with the radians of phase over the pupil that it integrates to 1e-5. */
const rules: readonly { phaseRad: number; rule: RowRule }[] = (
  [
    [12, 5],
    [16, 9],
    [32, 26],
    [64, 75],
    [128, 175],
    [256, 390],
  ] as const
).map(([count, phaseRad]) => {
  const rule = gaussLegendre(count);
  const angles = rule.nodes.map((node) => (Math.PI / 2) * node);
  const sines = angles.map(Math.sin);
  return { phaseRad, rule: { ...rule, sines, cosines: angles.map((angle) => (Math.PI / 2) * Math.cos(angle)) } };
});
const largest = rules.at(-1)!;

/**
 * Transfer function of a pupil bounded by one or two circles, with defocus and primary coma.
 *
 * Model    scalar diffraction, incoherent light of one wavelength; W = W20·r² + W31·r²·(x cos φ + y sin φ) in waves
 * Formula  ∫∫ exp(2πi·[W(x + s, y) − W(x − s, y)]) dx dy over the overlap of the sheared pupils / area of the pupil
 * Input    `comaAzimuthRad`: direction of the coma's axis from the frequency.
 * Returns  complex; |OTF| ≤ that without aberration. 1 at s = 0.
 * Throws   RangeError if the circles have no common area, a value is not finite, or the coma is too great. Any defocus is
 *          allowed.
 * Cost     3 µs for two circles in focus, 10 µs with coma.
 * Trust    what bounds the pupil is taken as sharp circles in one plane. Beyond some 15 waves of defocus only known to be
 *          near 0.
 * Source   Hopkins, Proc. R. Soc. A 231, 91 (1955), the overlap integral
 * Checked  degenerate: one circle equals defocusOtf; reference: numpy FFT, tests/optics/pupil-shape-otf.test.ts
 */
export function pupilShapeOtf({
  normalisedFrequency,
  discs,
  defocusWaves,
  comaWaves = 0,
  comaAzimuthRad = 0,
}: {
  normalisedFrequency: number;
  discs: readonly [PupilDisc] | readonly [PupilDisc, PupilDisc];
  defocusWaves: number;
  comaWaves?: number;
  comaAzimuthRad?: number;
}): ComplexOtf {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireFinite('defocusWaves', defocusWaves, 'waves');
  requireFinite('comaWaves', comaWaves, 'waves');
  requireFinite('comaAzimuthRad', comaAzimuthRad, 'rad');
  const areaOfPupil = pupilArea(discs);
  if (s === 0) return { real: 1, imaginary: 0 };
  const sheared = shearedDiscs(discs, s);
  const ys = cornerHeights(sheared);
  const tilt = 8 * Math.PI * s * defocusWaves;
  const along = 4 * Math.PI * s * comaWaves * Math.cos(comaAzimuthRad);
  const across = 8 * Math.PI * s * comaWaves * Math.sin(comaAzimuthRad);
  // Rows without coma are integrated in closed form: then the phase only has to be followed from row to row.
  const phaseRad = Math.max(0, 1 - s) * (Math.abs(tilt) + 4 * Math.abs(along) + 2 * Math.abs(across));
  const rule = ruleFor(phaseRad, comaWaves === 0);
  const { nodes, weights } = rule;
  let real = 0;
  let imaginary = 0;
  for (let panel = 1; panel < ys.length; panel++) {
    const middle = (ys[panel]! + ys[panel - 1]!) / 2;
    const half = (ys[panel]! - ys[panel - 1]!) / 2;
    if (half < 1e-12 || !(rowOf(sheared, middle).half > 0)) continue;
    for (let i = 0; i < nodes.length; i++) {
      const y = middle + half * rule.sines[i]!;
      const row = rowOf(sheared, y);
      if (!(row.half > 0)) continue;
      const weight = weights[i]! * half * rule.cosines[i]!;
      const slope = tilt + across * y;
      const offset = along * (y * y + s * s);
      if (along === 0) {
        const whole = 2 * row.half * weight * sinc(slope * row.half);
        real += whole * Math.cos(slope * row.middle);
        imaginary += whole * Math.sin(slope * row.middle);
        continue;
      }
      for (let j = 0; j < nodes.length; j++) {
        const x = row.middle + row.half * nodes[j]!;
        const phase = slope * x + along * 3 * x * x + offset;
        const part = weight * row.half * weights[j]!;
        real += part * Math.cos(phase);
        imaginary += part * Math.sin(phase);
      }
    }
  }
  return { real: real / areaOfPupil, imaginary: imaginary / areaOfPupil };
}

const sinc = (x: number): number => (x === 0 ? 1 : Math.sin(x) / x);

function pupilArea(discs: readonly PupilDisc[]): number {
  for (const { centreX, centreY, radius } of discs) {
    requireFinite('discs.centreX', centreX);
    requireFinite('discs.centreY', centreY);
    requirePositive('discs.radius', radius);
  }
  const [first, second = first] = discs as readonly [PupilDisc, PupilDisc?];
  const distance = Math.hypot(first.centreX - second.centreX, first.centreY - second.centreY);
  const common = circleOverlapArea(first.radius, second.radius, distance);
  if (!(common > 0)) throw new RangeError('discs have no area in common; allowed: a pupil that lets light through');
  return common;
}

/** The circles that bound the overlap: each one sheared by s to both sides. */
function shearedDiscs(discs: readonly PupilDisc[], s: number): PupilDisc[] {
  return discs.flatMap(({ centreX, centreY, radius }) => [
    { centreX: centreX - s, centreY, radius },
    { centreX: centreX + s, centreY, radius },
  ]);
}

/** Heights at which the outline of the overlap may have corners or ends, rising; between two of them it is smooth. */
function cornerHeights(sheared: readonly PupilDisc[]): number[] {
  const low = sheared.reduce((y, { centreY, radius }) => Math.max(y, centreY - radius), Number.NEGATIVE_INFINITY);
  const high = sheared.reduce((y, { centreY, radius }) => Math.min(y, centreY + radius), Number.POSITIVE_INFINITY);
  const ys = [low, high];
  for (let i = 0; i < sheared.length; i++) {
    for (let j = i + 1; j < sheared.length; j++) {
      for (const y of crossingsY(sheared[i]!, sheared[j]!)) if (y > low && y < high) ys.push(y);
    }
  }
  return ys.sort((a, b) => a - b);
}

/** The overlap's row at a height: its middle and half its width, not > 0 where there is none. */
function rowOf(sheared: readonly PupilDisc[], y: number): { middle: number; half: number } {
  let left = Number.NEGATIVE_INFINITY;
  let right = Number.POSITIVE_INFINITY;
  for (let i = 0; i < sheared.length; i++) {
    const { centreX, centreY, radius } = sheared[i]!;
    const chord = Math.sqrt(Math.max(0, radius * radius - (y - centreY) * (y - centreY)));
    left = Math.max(left, centreX - chord);
    right = Math.min(right, centreX + chord);
  }
  return { middle: (left + right) / 2, half: (right - left) / 2 };
}

/** Heights at which two circles cross. */
function crossingsY(first: PupilDisc, second: PupilDisc): number[] {
  const dx = second.centreX - first.centreX;
  const dy = second.centreY - first.centreY;
  const square = dx * dx + dy * dy;
  if (square === 0) return [];
  const share = (first.radius ** 2 - second.radius ** 2 + square) / (2 * square);
  const reach = first.radius ** 2 / square - share * share;
  if (!(reach >= 0)) return [];
  const y = first.centreY + share * dy;
  const off = Math.sqrt(reach) * Math.abs(dx);
  return [y - off, y + off];
}

function ruleFor(phaseRad: number, anyPhase: boolean): RowRule {
  const found = rules.find((rule) => phaseRad <= rule.phaseRad);
  if (found) return found.rule;
  if (anyPhase) return largest.rule;
  throw new RangeError(`defocusWaves and comaWaves make ${phaseRad} rad of phase; allowed: ≤ ${largest.phaseRad} rad`);
}
