import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  predictedFocalPowerDpt,
  predictedMagnification,
  predictedPixelMm,
  readStation,
} from '../../src/station/index.js';

const station = readStation(readFileSync('stations/glaze-line.yaml', 'utf8'), { fileName: 'glaze-line' });

describe('size of a pixel on an object at rest', () => {
  it('property: in focus it is the pitch over the magnification; off focus it is another', () => {
    const workingDistanceMm = 430;
    const focalPowerDpt = predictedFocalPowerDpt({ station, workingDistanceMm })!;
    const sharp = predictedPixelMm({ station, workingDistanceMm, focalPowerDpt });
    expect(sharp).toBeCloseTo(4.8e-3 / predictedMagnification({ station, workingDistanceMm })!, 9);
    const off = predictedPixelMm({ station, workingDistanceMm, focalPowerDpt: focalPowerDpt + 1 });
    expect(Math.abs(off / sharp - 1)).toBeGreaterThan(1e-3);
  });
});
