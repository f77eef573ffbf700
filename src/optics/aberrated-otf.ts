import { requireFinite, requireNotNegative } from '../base/index.js';
import { diffractionMtf } from './diffraction.js';
import { gaussLegendre, type QuadratureRule } from './gauss-legendre.js';

const ruleSizes = [16, 32, 64, 128, 256, 512];
/** Made when they are needed: the largest take milliseconds. */
const rules: (QuadratureRule | undefined)[] = ruleSizes.map(() => undefined);
/** Radians of phase over a whole side that the smallest rule integrates; each next rule takes twice as much. */
const smallestRulePhaseRad = 10;
const largestPhaseRad = smallestRulePhaseRad * 2 ** (ruleSizes.length - 1);

/**
 * Transfer function of a circular pupil with defocus and primary spherical aberration.
 *
 * Model    scalar diffraction, incoherent light of one wavelength; W(ρ) = W20·ρ² + W040·ρ⁴ in waves
 * Formula  (4/π)·∫∫ cos(2π·s·x·[4·W20 + 8·W040·(x² + y² + s²)]) dx dy over a quarter of the sheared pupils' overlap
 * Returns  −1 … 1; best focus by variance lies at W20 = −W040.
 * Throws   RangeError if a value is not finite, the frequency negative, or the aberration too great to integrate.
 * Trust    coma and astigmatism are not in it.
 * Source   Hopkins, Proc. R. Soc. A 231, 91 (1955), the overlap integral
 * Checked  degenerate: W040 = 0 equals defocusOtf to 1e-10; reference: numpy FFT, tests/optics/aberrated-otf.test.ts
 */
export function aberratedOtf({
  normalisedFrequency,
  defocusWaves,
  sphericalWaves,
}: {
  normalisedFrequency: number;
  defocusWaves: number;
  sphericalWaves: number;
}): number {
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireFinite('defocusWaves', defocusWaves, 'waves');
  requireFinite('sphericalWaves', sphericalWaves, 'waves');
  if (s >= 1 || s === 0) return diffractionMtf(s);
  const defocusPhase = 8 * Math.PI * s * defocusWaves;
  const sphericalPhase = 16 * Math.PI * s * sphericalWaves;
  const { nodes, weights } = ruleFor((Math.abs(defocusPhase) + 3 * Math.abs(sphericalPhase)) * (1 - s));
  const halfAngle = Math.acos(s) / 2;
  let sum = 0;
  for (let i = 0; i < nodes.length; i++) {
    const angle = halfAngle * (1 + nodes[i]!);
    const y = Math.sin(angle);
    const edge = Math.cos(angle);
    const halfWidth = (edge - s) / 2;
    let row = 0;
    for (let j = 0; j < nodes.length; j++) {
      const x = halfWidth * (1 + nodes[j]!);
      row += weights[j]! * Math.cos(x * (defocusPhase + sphericalPhase * (x * x + y * y + s * s)));
    }
    sum += weights[i]! * row * halfWidth * edge;
  }
  return (4 / Math.PI) * halfAngle * sum;
}

function ruleFor(phaseRad: number): QuadratureRule {
  if (phaseRad > largestPhaseRad) {
    throw new RangeError(
      `defocusWaves and sphericalWaves make ${phaseRad} rad of phase; allowed: ≤ ${largestPhaseRad} rad`,
    );
  }
  const doublings = Math.max(0, Math.ceil(Math.log2(phaseRad / smallestRulePhaseRad)));
  const rule = rules[doublings] ?? gaussLegendre(ruleSizes[doublings]!);
  rules[doublings] = rule;
  return rule;
}
