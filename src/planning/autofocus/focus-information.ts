/** One ring of the spatial spectrum, seen in every frame. Arrays hold one value a frame. */
export interface SpectrumRing {
  /** Independent complex Fourier coefficients in the ring: half its pixels, as an image is real. */
  coefficientCount: number;
  /** Expected power of a coefficient of the scene in focus of perfect optics, over the power of the noise. */
  sceneToNoiseRatio: number;
  /** Signed transfer function of each frame. */
  transfer: readonly number[];
  /** Its change per dpt of best focus. */
  transferSlopePerDpt: readonly number[];
}

/**
 * Fisher information on best focus in the spectra of several frames of one scene that nobody knows.
 *
 * Model    per ring the scene's Fourier coefficients are independent complex normal with one power, itself unknown; each
 *          frame sees them through its transfer function, with white noise of known power. Still scene, same scale
 * Formula  covariance of the frames S·h·hᵀ + σ²: Σ_rings n · 2·g²·|h|²·|h′_⊥|² / (g·|h|² + 1), g = S/σ², h′_⊥ the part
 *          of h′ across h. The part along h only rescales the ring, which its unknown power explains as well
 * Returns  1/dpt²; 0 for a single frame: sharpness alone cannot tell a dull scene from a blurred one.
 * Trust    a bound for unbiased estimators on many coefficients: with few or far-off probes no estimator reaches it.
 * Source   Fisher information of a zero-mean complex normal (Kay 1993, Fundamentals of Statistical Signal Processing,
 *          ch. 15; from memory, derived again); two-frame bound: Rajagopalan & Chaudhuri 1998
 * Checked  recovery: maximum likelihood on simulated spectra reaches it, tests/planning/focus-information.test.ts
 */
export function focusInformationPerDpt2(rings: readonly SpectrumRing[]): number {
  let information = 0;
  for (const { coefficientCount, sceneToNoiseRatio, transfer, transferSlopePerDpt } of rings) {
    let square = 0;
    let along = 0;
    let slopeSquare = 0;
    for (let i = 0; i < transfer.length; i++) {
      const [h, slope] = [transfer[i]!, transferSlopePerDpt[i]!];
      square += h * h;
      along += h * slope;
      slopeSquare += slope * slope;
    }
    if (square === 0) continue;
    const across = Math.max(0, slopeSquare - (along * along) / square);
    information += (coefficientCount * 2 * sceneToNoiseRatio ** 2 * square * across) / (sceneToNoiseRatio * square + 1);
  }
  return information;
}

/** A ring of the square region's spectrum before any optics. */
export interface SceneRing {
  frequencyPerPx: number;
  coefficientCount: number;
  sceneToNoiseRatio: number;
}

const ringCount = 10;

/**
 * Rings of a square region's spectrum, from the lowest frequency to the sampling limit, with the scene's power over noise.
 *
 * Model    power of the scene ∝ 1/f^α between half a cycle a region and half a cycle a pixel, all of its variance there;
 *          rings in steps of equal ratio; corners of the spectrum left out
 * Formula  per coefficient: region² · (σ_scene/σ_noise)² · w(f), Σ_pixels w = 1
 */
export function sceneRings({
  regionPx,
  contrastToNoiseRatio,
  spectrumExponent,
}: {
  regionPx: number;
  /** Standard deviation of the scene over that of the noise, in one pixel. */
  contrastToNoiseRatio: number;
  spectrumExponent: number;
}): SceneRing[] {
  const lowest = 0.5 / regionPx;
  const edge = (i: number) => lowest * (0.5 / lowest) ** (i / ringCount);
  const rings = Array.from({ length: ringCount }, (_, i) => ({
    frequencyPerPx: Math.sqrt(edge(i) * edge(i + 1)),
    pixelCount: Math.PI * (edge(i + 1) ** 2 - edge(i) ** 2) * regionPx ** 2,
  }));
  const weightOf = (frequency: number) => (frequency / lowest) ** -spectrumExponent;
  const whole = rings.reduce((sum, ring) => sum + ring.pixelCount * weightOf(ring.frequencyPerPx), 0);
  return rings.map(({ frequencyPerPx, pixelCount }) => ({
    frequencyPerPx,
    coefficientCount: pixelCount / 2,
    sceneToNoiseRatio: (regionPx * contrastToNoiseRatio) ** 2 * (weightOf(frequencyPerPx) / whole),
  }));
}
