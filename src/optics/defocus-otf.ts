import { requireFinite, requireNotNegative, requireNumber } from '../base/index.js';
import { diffractionMtf } from './diffraction.js';
import { gaussLegendre, type QuadratureRule } from './gauss-legendre.js';

/** Largest phase over half the interval, in rad, that each rule for the whole of it integrates to rounding error. */
const wholeRules = (
  [
    [10, 1.5],
    [16, 6],
    [24, 14],
    [32, 24],
  ] as const
).map(([count, phaseRad]) => ({ phaseRad, rule: squareRootRule(count) }));

/** What is more goes to panels over t = arcsin x, each with this rule up to that phase over half of it. */
const panelRule = gaussLegendre(32);
const panelPhaseRad = 30;

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
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireFinite('defocusWaves', defocusWaves, 'waves');
  if (s >= 1 || s === 0 || defocusWaves === 0) return diffractionMtf(s);
  const phase = 8 * Math.PI * Math.abs(defocusWaves) * s;
  const { count, offsets, weights } = nodesFor(s, phase);
  let sum = 0;
  for (let i = 0; i < count; i++) sum += weights[i]! * Math.cos(phase * offsets[i]!);
  return sum;
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
  const s = requireNotNegative('normalisedFrequency', normalisedFrequency);
  requireFinite('defocusWaves', defocusWaves, 'waves');
  if (s >= 1 || s === 0 || defocusWaves === 0) return { otf: diffractionMtf(s), slopePerWave: 0 };
  const perWave = 8 * Math.PI * s;
  const { count, offsets, weights } = nodesFor(s, perWave * Math.abs(defocusWaves));
  let otf = 0;
  let slopePerWave = 0;
  for (let i = 0; i < count; i++) {
    const phasePerWave = perWave * offsets[i]!;
    const phase = phasePerWave * defocusWaves;
    otf += weights[i]! * Math.cos(phase);
    slopePerWave -= weights[i]! * phasePerWave * Math.sin(phase);
  }
  return { otf, slopePerWave };
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
  requireNotNegative('maxDefocusWaves', maxDefocusWaves, 'waves');
  const phasePerWave = 8 * Math.PI * s;
  const { count, offsets, weights } = nodesFor(s, phasePerWave * maxDefocusWaves);
  return {
    weights: weights.slice(0, count),
    phasesPerWaveRad: offsets.slice(0, count).map((offset) => phasePerWave * offset),
  };
}

/** Hopkins's integral as a sum: Σ weight·cos(phase·offset), offset = x − s. Valid until the next call. */
interface OverlapNodes {
  readonly s: number;
  /** Rule for the whole interval, or null with a number of panels. */
  readonly rule: QuadratureRule | null;
  readonly panels: number;
  readonly count: number;
  readonly offsets: Float64Array;
  readonly weights: Float64Array;
}

let kept: OverlapNodes = {
  s: Number.NaN,
  rule: null,
  panels: 0,
  count: 0,
  offsets: new Float64Array(64),
  weights: new Float64Array(64),
};

/**
 * Nodes that integrate (4/π)·∫ cos(phase·(x − s))·√(1 − x²) dx, x from s to 1. Those of the last frequency are kept, as
 * searches try many defocuses at one.
 */
function nodesFor(s: number, phase: number): OverlapNodes {
  const halfPhase = (phase * (1 - s)) / 2;
  const rule = wholeRules.find(({ phaseRad }) => halfPhase <= phaseRad)?.rule ?? null;
  const panels = rule ? 0 : panelsFor(s, phase);
  if (kept.s === s && kept.rule === rule && kept.panels === panels) return kept;
  const count = rule ? rule.nodes.length : panels * panelRule.nodes.length;
  const room = kept.offsets.length;
  const offsets = room < count ? new Float64Array(2 * count) : kept.offsets;
  const weights = room < count ? new Float64Array(2 * count) : kept.weights;
  kept = { s, rule, panels, count, offsets, weights };
  if (rule) fillWhole(kept, rule);
  else fillPanels(kept);
  return kept;
}

/** x = s + (1 − s)·u: √(1 − x) is in the rule's weights, √(1 + x) in ours. */
function fillWhole({ s, count, offsets, weights }: OverlapNodes, rule: QuadratureRule): void {
  const scale = (4 / Math.PI) * (1 - s) * Math.sqrt(1 - s);
  for (let i = 0; i < count; i++) {
    const offset = (1 - s) * rule.nodes[i]!;
    offsets[i] = offset;
    weights[i] = scale * rule.weights[i]! * Math.sqrt(1 + s + offset);
  }
}

/** x = sin t, t from asin s to π/2 in even panels. */
function fillPanels({ s, panels, count, offsets, weights }: OverlapNodes): void {
  const start = Math.asin(s);
  const half = (Math.PI / 2 - start) / (2 * panels);
  const perPanel = panelRule.nodes.length;
  for (let i = 0; i < count; i++) {
    const panel = Math.floor(i / perPanel);
    const node = i - panel * perPanel;
    const sine = Math.sin(start + (2 * panel + 1) * half + half * panelRule.nodes[node]!);
    offsets[i] = sine - s;
    weights[i] = (4 / Math.PI) * half * panelRule.weights[node]! * (1 - sine * sine);
  }
}

function panelsFor(s: number, phase: number): number {
  const phasePerHalfSpan = (phase * Math.sqrt(1 - s * s) * Math.acos(s)) / 2;
  return Math.max(1, Math.ceil(phasePerHalfSpan / panelPhaseRad));
}

/**
 * Gauss rule on u = 0 … 1 with the weight √(1 − u).
 *
 * Model    u = 1 − v²: the weight becomes 2v², and a Gauss–Legendre rule over v = −1 … 1 of 2·count + 1 nodes holds
 *          every node twice, but for v = 0, whose weight is 0
 */
function squareRootRule(count: number): QuadratureRule {
  const whole = gaussLegendre(2 * count + 1);
  const places = whole.nodes.slice(count + 1);
  return {
    nodes: places.map((v) => 1 - v * v),
    weights: whole.weights.slice(count + 1).map((weight, i) => 2 * weight * places[i]! ** 2),
  };
}
