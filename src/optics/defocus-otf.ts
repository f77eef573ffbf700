import { requireNumber } from '../base/index.js';
import { diffractionMtf } from './diffraction.js';
import { gaussLegendre, type QuadratureRule } from './gauss-legendre.js';

const shortRule = gaussLegendre(16);
const longRule = gaussLegendre(32);

/** Largest phase over half a panel, in rad, that each rule integrates to rounding error. */
const shortRulePhaseRad = 6;
const longRulePhaseRad = 30;

/**
 * Optical transfer function of a defocused circular pupil without other aberration.
 *
 * Model    scalar diffraction, incoherent light of one wavelength, W20 waves of defocus at the pupil's edge
 * Formula  OTF(s, W) = (4/π)·∫ cos(8πW·s·(sin t − s))·cos² t dt, t from asin s to π/2, s = ν·λ·N
 * Returns  −1 … 1; negative = contrast reversal. 1 at s = 0, 0 from s = 1 on, even in W.
 * Throws   RangeError if a value is not finite or the frequency negative.
 * Cost     about a microsecond up to some waves, growing with |W|; for many at once see defocusOtfRadial and
 *          defocusOtfTable.
 * Trust    exact for its model; real lenses add aberration, and light of many wavelengths blurs the zeros.
 * Source   Hopkins, Proc. R. Soc. A 231, 91 (1955)
 * Checked  reference: 108 values to 1e-5; Hopkins's series to 1e-12 up to 60 waves, tests/optics/defocus-otf.test.ts
 */
export function defocusOtf({
  normalisedFrequency,
  defocusWaves,
}: {
  normalisedFrequency: number;
  defocusWaves: number;
}): number {
  const s = requireNumber('normalisedFrequency', normalisedFrequency, { min: 0 });
  requireNumber('defocusWaves', defocusWaves, { unit: 'waves' });
  if (s >= 1 || s === 0 || defocusWaves === 0) return diffractionMtf(s);
  const phase = 8 * Math.PI * Math.abs(defocusWaves) * s;
  const { rule, panels, start, half } = panelsFor(s, phase);
  let sum = 0;
  for (let panel = 0; panel < panels; panel++) {
    const middle = start + (2 * panel + 1) * half;
    for (let i = 0; i < rule.nodes.length; i++) {
      const sine = Math.sin(middle + half * rule.nodes[i]!);
      sum += rule.weights[i]! * Math.cos(phase * (sine - s)) * (1 - sine * sine);
    }
  }
  return (4 / Math.PI) * half * sum;
}

/**
 * The transfer function of defocusOtf with its derivative by defocus: what a change of focus changes.
 *
 * Formula  ∂OTF/∂W = −(4/π)·∫ q·sin(q·W)·cos² t dt, q = 8π·s·(sin t − s)
 * Returns  `slopePerWave` is odd in W: 0 in focus, where a frame says nothing of small defocus.
 * Throws   as defocusOtf.
 * Checked  closed form: central differences of defocusOtf, tests/optics/defocus-otf.test.ts
 */
export function defocusOtfWithSlope({
  normalisedFrequency,
  defocusWaves,
}: {
  normalisedFrequency: number;
  defocusWaves: number;
}): { otf: number; slopePerWave: number } {
  const s = requireNumber('normalisedFrequency', normalisedFrequency, { min: 0 });
  requireNumber('defocusWaves', defocusWaves, { unit: 'waves' });
  if (s >= 1 || s === 0 || defocusWaves === 0) return { otf: diffractionMtf(s), slopePerWave: 0 };
  const perWave = 8 * Math.PI * s;
  const { rule, panels, start, half } = panelsFor(s, perWave * Math.abs(defocusWaves));
  let otf = 0;
  let slopePerWave = 0;
  for (let panel = 0; panel < panels; panel++) {
    const middle = start + (2 * panel + 1) * half;
    for (let i = 0; i < rule.nodes.length; i++) {
      const sine = Math.sin(middle + half * rule.nodes[i]!);
      const phasePerWave = perWave * (sine - s);
      const weight = rule.weights[i]! * (1 - sine * sine);
      otf += weight * Math.cos(phasePerWave * defocusWaves);
      slopePerWave -= weight * phasePerWave * Math.sin(phasePerWave * defocusWaves);
    }
  }
  const scale = (4 / Math.PI) * half;
  return { otf: scale * otf, slopePerWave: scale * slopePerWave };
}

/**
 * The same integral as a sum Σ weight·cos(phase·W), good for every |W| up to a limit.
 *
 * Throws   RangeError if the frequency is not in 0 … 1 or the limit not finite.
 */
export function defocusQuadrature({
  normalisedFrequency,
  maxDefocusWaves,
}: {
  normalisedFrequency: number;
  maxDefocusWaves: number;
}): { weights: Float64Array; phasesPerWaveRad: Float64Array } {
  const s = requireNumber('normalisedFrequency', normalisedFrequency, { min: 0, below: 1 });
  requireNumber('maxDefocusWaves', maxDefocusWaves, { min: 0, unit: 'waves' });
  const phasePerWave = 8 * Math.PI * s;
  const { rule, panels, start, half } = panelsFor(s, phasePerWave * maxDefocusWaves);
  const weights = new Float64Array(panels * rule.nodes.length);
  const phasesPerWaveRad = new Float64Array(weights.length);
  for (let index = 0; index < weights.length; index++) {
    const panel = Math.floor(index / rule.nodes.length);
    const node = index % rule.nodes.length;
    const sine = Math.sin(start + (2 * panel + 1) * half + half * rule.nodes[node]!);
    weights[index] = (4 / Math.PI) * half * rule.weights[node]! * (1 - sine * sine);
    phasesPerWaveRad[index] = phasePerWave * (sine - s);
  }
  return { weights, phasesPerWaveRad };
}

/** Rule and panels that integrate a phase swing over t from asin s to π/2. */
function panelsFor(s: number, phase: number): { rule: QuadratureRule; panels: number; start: number; half: number } {
  const start = Math.asin(s);
  const span = Math.PI / 2 - start;
  const phasePerHalfSpan = (phase * Math.sqrt(1 - s * s) * span) / 2;
  const panels = Math.max(1, Math.ceil(phasePerHalfSpan / longRulePhaseRad));
  return {
    rule: phasePerHalfSpan <= shortRulePhaseRad ? shortRule : longRule,
    panels,
    start,
    half: span / (2 * panels),
  };
}
