import { describe, expect, it } from 'vitest';
import { reachRows } from '../../src/procedures/commission/reach-rows.js';
import type { CalibrationRecord } from '../../src/station/index.js';
import { glazeStation } from './glaze-station.js';

/** A calibration that found the station as written, but for an offset of the lens. */
const calibrated = (offsetDpt: number, std95Dpt: number): CalibrationRecord => ({
  kind: 'fitted',
  points: [],
  parameters: [
    {
      name: 'powerOffsetDpt',
      unit: 'dpt',
      title: 'offset',
      prior: { value: 0, std: 0.05 },
      fitted: { value: offsetDpt, std: std95Dpt / 1.96 },
    },
  ],
  residualRmsDpt: 0,
  reducedChiSquare: 1,
  curve: [{ workingDistanceMm: 400, focalPowerDpt: 0.6, predicted95Dpt: 9 }],
  referenceTemperatureDegC: 25,
  explanation: '',
});

const far = (calibration: CalibrationRecord | null) => {
  const station = glazeStation();
  const findings = {
    station,
    calibration,
    autofocus: [],
    resolution: [],
    frames: [],
    exposureMs: null,
    settling: null,
    complete: true,
    recorded: false,
  };
  return reachRows(findings)[1]!;
};

describe('ledger rows of the measured reach', () => {
  it('closed form: ring at 560 mm and −2 dpt look beyond infinity: 1000/560 − 2 < 0', () => {
    expect(far(calibrated(0, 0.02))).toMatchObject({
      predicted: null,
      predictedInWords: 'infinity',
      measured: null,
      measuredInWords: 'infinity',
      verdict: 'meets',
    });
  });

  it('closed form: an offset of the lens moves the vergence at the limit by as much; spare is judged in vergence', () => {
    const near = far(calibrated(0.5, 0.02));
    expect(near.measured?.value).toBeGreaterThan(2000);
    const vergenceDpt = 1000 / near.measured!.value;
    // The distance counts from the front, 6 mm before the lens: the same to 0.2 %.
    expect(1000 / far(calibrated(0.6, 0.02)).measured!.value - vergenceDpt).toBeCloseTo(0.1, 2);
    expect((near.measured!.std! / near.measured!.value ** 2) * 1000).toBeCloseTo(0.02 / 1.96, 3);
    expect(near.verdict).toBe('meets');
  });

  it('degenerate: a limit that is infinity within its uncertainty is said in words, and meets', () => {
    const row = far(calibrated(0.27, 0.2));
    expect(row).toMatchObject({
      measured: null,
      measuredInWords: expect.stringMatching(/^beyond \d+ mm$/),
      verdict: 'meets',
    });
  });

  it('closed form: short of the task fails, short of twice the uncertainty is marginal', () => {
    // 545 mm need 1.83 dpt of vergence; the limit reaches it at an offset of 2.05 dpt.
    expect(far(calibrated(2.3, 0.02)).verdict).toBe('fails');
    expect(far(calibrated(1.9, 0.4)).verdict).toBe('marginal');
  });

  it('closed form: the covariance at the limit: σ² = σ_offset² + 2 P cov + P² σ_gain², whatever the curve’s interval', () => {
    const record = calibrated(0.5, 0.02);
    if (record.kind !== 'fitted') throw new Error('not fitted');
    const gain = {
      name: 'powerGain',
      unit: '',
      title: 'gain',
      prior: { value: 1, std: 0.02 },
      fitted: { value: 1, std: 0.02 },
    };
    const parameters = [...record.parameters, gain];
    const vergenceStdDpt = (covariance: number[][]) => {
      const { value, std } = far({ ...record, parameters, covariance }).measured!;
      return (1000 * std!) / value ** 2;
    };
    // Limit at −2 dpt. Independent: √(0.01² + 4 · 0.02²); together: |0.01 ∓ 2 · 0.02|
    expect(
      vergenceStdDpt([
        [1e-4, 0],
        [0, 4e-4],
      ]),
    ).toBeCloseTo(Math.sqrt(17e-4), 3);
    expect(
      vergenceStdDpt([
        [1e-4, 2e-4],
        [2e-4, 4e-4],
      ]),
    ).toBeCloseTo(0.03, 3);
    expect(
      vergenceStdDpt([
        [1e-4, -2e-4],
        [-2e-4, 4e-4],
      ]),
    ).toBeCloseTo(0.05, 3);
  });

  it('closed form: where the offset alone has a tolerance, the prediction has it as the uncertainty of its vergence', () => {
    const station = glazeStation((file) => {
      file.parts.tunableLens.tolerance = { offsetDpt: 0.04, gainRelative: 0 };
      file.parts.tunableLens.hysteresisDpt = 0.06;
      file.parts.fixedLens.tolerance = { focalLengthMm: 0, ringDistanceRelative: 0 };
      file.parts.spacer.tolerance = { lengthMm: 0 };
    });
    const rest = {
      autofocus: [],
      resolution: [],
      frames: [],
      exposureMs: null,
      settling: null,
      complete: true,
      recorded: false,
    };
    const near = reachRows({ station, calibration: null, ...rest })[0]!.predicted!;
    // √(0.04² + 0.03²); the distance counts from the front, 6 mm before the lens: d(vergence) grows by (1 + 6/d)².
    expect((1000 * near.std!) / near.value ** 2 / 0.05 / (1 + 6 / near.value) ** 2).toBeCloseTo(1, 2);
  });

  it('refuses to judge without a calibration', () => {
    expect(far(null)).toMatchObject({ verdict: 'unknown', measured: null });
  });
});
