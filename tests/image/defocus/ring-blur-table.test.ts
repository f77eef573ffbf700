import { describe, expect, it } from 'vitest';
import { ringBlurTable, ringSpectrometer, wavesOfBlurRadius } from '../../../src/image/index.js';
import { defocusOtf, diffractionMtf } from '../../../src/optics/index.js';

const { rings } = ringSpectrometer({ widthPx: 128, heightPx: 128 });
const cutoffPerPx = 1.3;
const table = ringBlurTable({ rings, cutoffPerPx, maxBlurRadiusPx: 40 });
const read = (blurRadiusPx: number, blurRadiusStdPx = 0.1) => {
  const shares = new Float64Array(rings.samples.length);
  table.read({ blurRadiusPx, blurRadiusStdPx }, shares);
  return shares;
};

describe('ring blur table', () => {
  it('closed form: in focus it is diffraction and pixel, squared', () => {
    const sinc = (x: number) => Math.sin(Math.PI * x) / (Math.PI * x);
    const ring = rings.frequenciesPerPx.length - 6;
    const f = rings.frequenciesPerPx[ring]!;
    const along = sinc(f) ** 2;
    const diagonal = sinc(f / Math.SQRT2) ** 4;
    const optics = diffractionMtf(f / cutoffPerPx) ** 2;
    expect(read(0)[ring]).toBeGreaterThan(0.93 * optics * Math.min(along, diagonal));
    expect(read(0)[ring]).toBeLessThan(1.02 * optics * Math.max(along, diagonal));
  });

  it('closed form: the blur radius is where rays of the pupil’s edge meet the sensor, 4·W20/cutoff', () => {
    // A large blur passes its first zero where 2π·R·f = 3.832, as a disc does.
    const blurRadiusPx = 20;
    const first = 3.8317 / (2 * Math.PI * blurRadiusPx);
    const waves = wavesOfBlurRadius({ blurRadiusPx, cutoffPerPx });
    const otf = (f: number) => defocusOtf({ normalisedFrequency: f / cutoffPerPx, defocusWaves: waves });
    expect(otf(0.94 * first)).toBeGreaterThan(0);
    expect(otf(1.1 * first)).toBeLessThan(0);
  });

  it('property: alike on both sides of focus; middle frequencies fall with blur', () => {
    expect(read(-7)).toEqual(read(7));
    const ring = 14;
    const shares = [0, 1, 2, 3, 4].map((blur) => read(blur)[ring]!);
    expect([...shares].sort((a, b) => b - a)).toEqual(shares);
  });

  it('property: an uncertain blur fills the zeros', () => {
    const sharp = read(9, 0.1);
    const smeared = read(9, 2.4);
    const zero = sharp.findIndex((share, ring) => ring > 4 && share < 0.003);
    expect(zero).toBeGreaterThan(4);
    expect(smeared[zero]!).toBeGreaterThan(1.5 * sharp[zero]!);
  });

  it('refuses a cutoff that is not > 0', () => {
    expect(() => ringBlurTable({ rings, cutoffPerPx: 0, maxBlurRadiusPx: 10 })).toThrow('cutoffPerPx');
  });
});
