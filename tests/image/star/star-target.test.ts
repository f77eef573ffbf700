import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { decodeImage, type GreyImage, measureStar } from '../../../src/image/index.js';

const folder = 'references/targets-geometry';

interface StarTruth {
  file: string;
  centrePx: [number, number];
  cycles: number;
  blurSigmaXPx: number;
  blurSigmaYPx: number;
}
const { stars } = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8')) as { stars: StarTruth[] };
const imageOf = (file: string): GreyImage => decodeImage(readFileSync(`${folder}/${file}`), file);

const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));

/** The MTF the star was blurred with, averaged over a sector of 45° about the direction `k` · 45°. */
function trueMtf({ blurSigmaXPx, blurSigmaYPx }: StarTruth, frequency: number, k: number): number {
  let sum = 0;
  for (let i = -8; i <= 8; i++) {
    const angle = ((k + i / 17) * Math.PI) / 4;
    const [fx, fy] = [-frequency * Math.sin(angle), frequency * Math.cos(angle)];
    sum += Math.exp(-2 * Math.PI ** 2 * ((blurSigmaXPx * fx) ** 2 + (blurSigmaYPx * fy) ** 2)) * sinc(fx) * sinc(fy);
  }
  return sum / 17;
}

describe.each(stars)('star of known MTF rendered by scipy: $file', (star) => {
  const reading = measureStar({ image: imageOf(star.file), cycles: star.cycles });
  if (reading.kind !== 'measured') throw new Error(reading.message);

  it('reference: the centre is found within 0.01 px', () => {
    const miss = Math.hypot(reading.centreXPx - star.centrePx[0], reading.centreYPx - star.centrePx[1]);
    expect(miss).toBeLessThan(0.01);
  });

  it('reference: MTF within 0.012 on every ring, within 0.04 in every sector', () => {
    for (const ring of reading.rings) {
      const wanted = ring.sectorMtf.map((_, k) => trueMtf(star, ring.frequencyPerPx, k));
      const mean = wanted.reduce((a, b) => a + b) / wanted.length;
      expect(Math.abs(ring.mtf - mean)).toBeLessThan(0.012);
      for (const [k, value] of ring.sectorMtf.entries()) expect(Math.abs(value - wanted[k]!)).toBeLessThan(0.04);
    }
  });

  it('reference: no coma where none was drawn', () => {
    expect(reading.comaShiftPx).toBeLessThan(0.05);
  });
});

describe('star', () => {
  it('reference: astigmatism shows its direction, and tangential and sagittal off the axis', () => {
    const image = imageOf('star_astigmatic.png');
    const reading = measureStar({ image, cycles: 36, axis: { xPx: 20, yPx: 150 } });
    if (reading.kind !== 'measured') throw new Error(reading.message);
    expect(reading.astigmatism!.sharpestDirectionDeg).toBe(0);
    expect(reading.astigmatism!.sharpestMtf50PerPx / reading.astigmatism!.softestMtf50PerPx).toBeGreaterThan(2);
    // The star lies to the right of the axis: detail modulated along that line is tangential, and blurred least here.
    expect(reading.field!.tangentialMtf50PerPx).toBeGreaterThan(2 * reading.field!.sagittalMtf50PerPx!);
  });

  it('recovery: a shift of fine detail against coarse is seen as such', () => {
    const [widthPx, heightPx, cycles] = [260, 260, 30];
    const data = new Uint16Array(widthPx * heightPx);
    for (let y = 0; y < heightPx; y++) {
      for (let x = 0; x < widthPx; x++) {
        const r = Math.hypot(x - 130, y - 130);
        const shift = 0.6 * Math.exp(-r / 25);
        data[y * widthPx + x] = Math.round(2000 * (1 + 0.7 * Math.cos(cycles * Math.atan2(y - 130, x - 130 - shift))));
      }
    }
    const reading = measureStar({ image: { widthPx, heightPx, bitDepth: 12, data }, cycles });
    if (reading.kind !== 'measured') throw new Error(reading.message);
    expect(reading.comaShiftPx).toBeGreaterThan(0.2);
    const finest = reading.rings.at(-1)!;
    expect(Math.abs(finest.shiftXPx)).toBeGreaterThan(5 * Math.abs(finest.shiftYPx));
  });

  it('refuses a wrong count and names the right one', () => {
    const reading = measureStar({ image: imageOf('star_sine.png'), cycles: 30 });
    expect(reading).toMatchObject({ kind: 'refused', reason: 'wrong-count' });
    expect(reading.kind === 'refused' && reading.remedy).toContain('--sectors 36');
  });

  it('refuses black, blank and starless pictures, and one with a pixel', () => {
    const flat = (value: number, side = 120): GreyImage => ({
      widthPx: side,
      heightPx: side,
      bitDepth: 8,
      data: new Uint8Array(side * side).fill(value),
    });
    for (const image of [flat(0), flat(128), flat(255), flat(9, 1), imageOf('dots_plain.png')]) {
      expect(measureStar({ image, cycles: 36 }).kind).toBe('refused');
    }
    expect(() => measureStar({ image: flat(0), cycles: 7 })).toThrow(/cycles is 7; allowed/);
    expect(() => measureStar({ image: flat(0), cycles: 36, centre: { xPx: 200, yPx: 3 } })).toThrow(/inside the frame/);
  });
});
