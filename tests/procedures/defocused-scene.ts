import { seededRandom } from '../../src/base/index.js';
import { fourierSum } from '../../src/image/edge/fourier.js';
import type { GreyImage } from '../../src/image/index.js';
import { defocusOtfRadial } from '../../src/optics/index.js';

const sidePx = 256;
export const framePx = 128;

/** A scene before a lens in a test; everything a focus search is not told. */
export interface DefocusedSceneOptions {
  seed?: number;
  /** Power at which each half of the frame is sharp: left, right. */
  bestFocusDpt: number | readonly [number, number];
  blurRadiusPerDptPx: number;
  cutoffPerPx?: number;
  meanDn?: number;
  noiseDn?: number;
  fixedPatternDn?: number;
  /** rms of the scene over its mean; 0: none. */
  contrast?: number;
  /** Shift of the scene from one frame to the next, 1σ. */
  motionPx?: number;
  /** Power that the lens really takes at a command. */
  powerAt?: (commandedDpt: number) => number;
}

/**
 * Frames of a random texture (power ∝ f^−2.6, with dark discs) blurred by the exact transfer function, by direct
 * multiplication of a spectrum four times the frame's area, so that light crosses the frame's border as it does in truth.
 */
export function defocusedScene(options: DefocusedSceneOptions) {
  const { seed = 1, blurRadiusPerDptPx, cutoffPerPx = 1.2, meanDn = 1200, noiseDn = 6, contrast = 0.25 } = options;
  const random = seededRandom(seed);
  const scene = texture(seed);
  const pattern = Float64Array.from({ length: framePx ** 2 }, () => (options.fixedPatternDn ?? 2) * random.normal());
  const halves = typeof options.bestFocusDpt === 'number' ? [options.bestFocusDpt] : options.bestFocusDpt;
  return {
    see(commandedDpt: number): GreyImage {
      const powerDpt = options.powerAt?.(commandedDpt) ?? commandedDpt;
      const shift = [(options.motionPx ?? 0) * random.normal(), (options.motionPx ?? 0) * random.normal()] as const;
      const views = halves.map((best) =>
        blur(scene, { waves: (blurRadiusPerDptPx * (powerDpt - best) * cutoffPerPx) / 4, cutoffPerPx, shift }),
      );
      const from = (sidePx - framePx) / 2;
      const data = Uint16Array.from({ length: framePx ** 2 }, (_, i) => {
        const [x, y] = [i % framePx, Math.floor(i / framePx)];
        const view = views[views.length === 2 && x >= framePx / 2 ? 1 : 0]!;
        const value = meanDn * (1 + contrast * view[(y + from) * sidePx + x + from]!) + pattern[i]!;
        return Math.max(0, Math.min(4095, Math.round(value + noiseDn * random.normal())));
      });
      return { widthPx: framePx, heightPx: framePx, bitDepth: 12, data };
    },
  };
}

/** Spectrum of a texture of mean 0 and variance 1. */
function texture(seed: number): { re: Float64Array; im: Float64Array } {
  const random = seededRandom(seed).fork('texture');
  const re = Float64Array.from({ length: sidePx ** 2 }, () => random.normal());
  const im = new Float64Array(sidePx ** 2);
  transform(re, im);
  each((f, i) => {
    const gain = f === 0 ? 0 : Math.max(f, 2 / sidePx) ** -1.3;
    re[i]! *= gain;
    im[i]! *= gain;
  });
  let power = 0;
  for (let i = 0; i < re.length; i++) power += re[i]! ** 2 + im[i]! ** 2;
  const scale = sidePx ** 2 / Math.sqrt(power);
  return { re: re.map((v) => v * scale), im: im.map((v) => v * scale) };
}

function blur(
  scene: { re: Float64Array; im: Float64Array },
  { waves, cutoffPerPx, shift }: { waves: number; cutoffPerPx: number; shift: readonly [number, number] },
): Float64Array {
  const otf = defocusOtfRadial(waves);
  const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
  const re = new Float64Array(sidePx ** 2);
  const im = new Float64Array(sidePx ** 2);
  each((f, i, fx, fy) => {
    const h = (otf(f / cutoffPerPx) * sinc(fx) * sinc(fy)) / sidePx ** 2;
    const turn = 2 * Math.PI * (fx * shift[0] + fy * shift[1]);
    const [c, s] = [h * Math.cos(turn), h * Math.sin(turn)];
    // Conjugated, so that the forward transform gives the picture back.
    re[i] = scene.re[i]! * c - scene.im[i]! * s;
    im[i] = -(scene.re[i]! * s + scene.im[i]! * c);
  });
  transform(re, im);
  return re;
}

function each(visit: (f: number, i: number, fx: number, fy: number) => void): void {
  for (let y = 0; y < sidePx; y++) {
    const fy = (y > sidePx / 2 ? y - sidePx : y) / sidePx;
    for (let x = 0; x < sidePx; x++) {
      const fx = (x > sidePx / 2 ? x - sidePx : x) / sidePx;
      visit(Math.hypot(fx, fy), y * sidePx + x, fx, fy);
    }
  }
}

function transform(re: Float64Array, im: Float64Array): void {
  const lineRe = new Float64Array(sidePx);
  const lineIm = new Float64Array(sidePx);
  for (const [step, next] of [
    [1, sidePx],
    [sidePx, 1],
  ] as const) {
    for (let line = 0; line < sidePx; line++) {
      for (let i = 0; i < sidePx; i++) {
        lineRe[i] = re[line * next + i * step]!;
        lineIm[i] = im[line * next + i * step]!;
      }
      fourierSum(lineRe, lineIm);
      for (let i = 0; i < sidePx; i++) {
        re[line * next + i * step] = lineRe[i]!;
        im[line * next + i * step] = lineIm[i]!;
      }
    }
  }
}
