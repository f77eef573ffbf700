import { describe, expect, it } from 'vitest';
import { angularFieldDeg, fieldOfView, thinLensImage } from '../../src/optics/index.js';

describe('field of view', () => {
  it('closed form: f 16 mm, 8.8 mm at 500 mm → 266.2 mm; the angle alone would say 275.0 mm', () => {
    const magnification = thinLensImage({ focalLengthMm: 16, objectDistanceMm: 500 }).magnification!;
    const field = fieldOfView({ magnification, sensorWidthMm: 8.8, sensorHeightMm: 6.6 });
    expect(field.widthMm).toBeCloseTo(266.2, 9);
    expect(field.diagonalMm).toBeCloseTo(266.2 * 1.25, 9);
    const angleDeg = angularFieldDeg({ focalLengthMm: 16, sensorMm: 8.8 });
    expect(angleDeg).toBeCloseTo(30.7525, 4);
    expect(2 * 500 * Math.tan((angleDeg * Math.PI) / 360)).toBeCloseTo(275, 9);
  });

  it('reference: OpenStax m58530, camera f 50 mm at 3 m sees 2.12 m on 36 mm', () => {
    const magnification = thinLensImage({ focalLengthMm: 50, objectDistanceMm: 3000 }).magnification!;
    expect(fieldOfView({ magnification, sensorWidthMm: 36, sensorHeightMm: 24 }).widthMm).toBeCloseTo(2124, 6);
  });

  it('refuses a magnification of 0', () => {
    expect(() => fieldOfView({ magnification: 0, sensorWidthMm: 8, sensorHeightMm: 6 })).toThrow(/magnification is 0/);
    expect(() => angularFieldDeg({ focalLengthMm: 0, sensorMm: 8 })).toThrow(/focalLengthMm/);
  });
});
