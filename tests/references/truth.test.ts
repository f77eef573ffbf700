import { describe, expect, it } from 'vitest';
import { parse } from 'yaml';
import { type Station, stationSchema } from '../../src/station/schema.js';
import { readPixels, readRows, readText } from './folder.js';
import { type Hidden, recordedTruth, runTruth } from './truth.js';

const stationOf = (folder: string): Station => stationSchema.parse(parse(readText(`${folder}/station.yaml`)));

/**
 * The optics of an object-side layout written out once more, by vergences in dpt and m, independent of both the script's
 * arithmetic and src/optics.
 */
function opticsOf(station: Station, hidden: Hidden) {
  const { parts, layout } = station;
  const focal = parts.fixedLens.focalLengthMm / 1000;
  const gap = layout.gapMm / 1000;
  const front = parts.tunableLens.frontToPlaneMm / 1000;
  const ring = (layout.ringDistanceMm! / 1000) * (1 + hidden.ringDistanceRelative);
  const sensorDpt = 1 / focal - 1 / ring;
  const radius = focal / layout.fNumber / 2;
  const actual = (commanded: number) => hidden.powerGain * commanded + hidden.powerOffsetDpt;
  return {
    workingFNumber: 1 / sensorDpt / (2 * radius),
    // In focus the light arriving at the fixed lens seems to come from the ring distance.
    bestFocusDpt: (workingMm: number) => {
      const power = 1 / (workingMm / 1000 + front) + 1 / (gap - ring);
      return (power - hidden.powerOffsetDpt) / hidden.powerGain;
    },
    defocusWaves: (commanded: number, workingMm: number) => {
      const leaving = actual(commanded) - 1 / (workingMm / 1000 + front);
      const arriving = leaving / (1 - gap * leaving);
      return ((arriving + 1 / ring) * radius ** 2) / 2 / (parts.light.wavelengthNm * 1e-9);
    },
    // Ray from object height 1 through the centre of the fixed lens, straight on to the sensor.
    magnification: (commanded: number, workingMm: number) => {
      const s = workingMm / 1000 + front;
      const heightAtTunable = gap / (s + gap - s * gap * actual(commanded));
      return -heightAtTunable / gap / sensorDpt;
    },
  };
}

describe('recorded-frames', () => {
  const truth = recordedTruth();
  const station = stationOf('recorded-frames');
  const optics = opticsOf(station, truth.hidden);
  const rows = readRows('recorded-frames');

  it('closed form: best focus and magnification follow from the hidden gain, offset and ring', () => {
    for (const d of truth.distances) {
      expect(d.bestFocusDpt).toBeCloseTo(optics.bestFocusDpt(d.workingDistanceMm), 5);
      expect(d.magnification).toBeCloseTo(optics.magnification(d.bestFocusDpt, d.workingDistanceMm), 6);
    }
    expect(truth.workingFNumber).toBeCloseTo(optics.workingFNumber, 5);
  });

  it('closed form: without the hidden errors the file predicts another focus, by more than twice the depth of field', () => {
    const asWritten = opticsOf(station, { powerGain: 1, powerOffsetDpt: 0, ringDistanceRelative: 0 });
    for (const d of truth.distances) {
      expect(d.predictedByFileDpt).toBeCloseTo(asWritten.bestFocusDpt(d.workingDistanceMm), 5);
      expect(Math.abs(d.predictedByFileDpt - d.bestFocusDpt)).toBeGreaterThan(2 * d.quarterWaveHalfWidthDpt);
    }
  });

  it('closed form: defocus and breathing of each frame', () => {
    for (const [i, row] of rows.entries()) {
      const frame = truth.frames[i]!;
      const best = truth.distances.find((d) => d.workingDistanceMm === row.workingDistanceMm)!;
      expect(frame.file).toBe(row.file);
      expect(frame.defocusWaves).toBeCloseTo(optics.defocusWaves(row.focalPowerDpt, row.workingDistanceMm), 4);
      const ratio = optics.magnification(row.focalPowerDpt, row.workingDistanceMm) / best.magnification;
      expect(frame.breathing).toBeCloseTo(ratio, 5);
    }
  });

  it('closed form: MTF at best focus is diffraction at the working f-number times the pixel aperture', () => {
    const sinc = (x: number) => (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x));
    for (const { angleDeg, mtfAtBestFocus } of truth.edges) {
      const angle = (angleDeg * Math.PI) / 180;
      expect(mtfAtBestFocus.at(-1)!.frequencyPerPx).toBe(0.5);
      for (const { frequencyPerPx: q, value } of mtfAtBestFocus) {
        const s = (q * truth.wavelengthNm * 1e-3 * optics.workingFNumber) / station.parts.sensor.pixelPitchUm;
        const lens = (2 / Math.PI) * (Math.acos(s) - s * Math.sqrt(1 - s * s));
        expect(value).toBeCloseTo(lens * sinc(q * Math.cos(angle)) * sinc(q * Math.sin(angle)), 5);
      }
    }
  });

  it('property: frames, powers and distances are those the station allows', () => {
    const { sensor, tunableLens } = station.parts;
    expect([...new Set(rows.map((r) => r.workingDistanceMm))]).toEqual(station.commissioning.targetDistancesMm);
    expect(truth.distances.map((d) => d.workingDistanceMm)).toEqual(station.commissioning.targetDistancesMm);
    for (const { focalPowerDpt, exposureMs } of rows) {
      expect(focalPowerDpt).toBeGreaterThan(tunableLens.powerMinDpt);
      expect(focalPowerDpt).toBeLessThan(tunableLens.powerMaxDpt);
      expect(
        Math.abs(focalPowerDpt / tunableLens.controlStepDpt - Math.round(focalPowerDpt / tunableLens.controlStepDpt)),
      ).toBeLessThan(1e-6);
      expect(exposureMs).toBe(station.controls.exposureMs);
    }
    const { widthPx, heightPx } = readPixels(`recorded-frames/${rows[0]!.file}`);
    expect([widthPx, heightPx]).toEqual([sensor.widthPx, sensor.heightPx]);
  });

  it('property: each distance is recorded on both sides of its focus and of the predicted focus', () => {
    for (const d of truth.distances) {
      const powers = rows.filter((r) => r.workingDistanceMm === d.workingDistanceMm).map((r) => r.focalPowerDpt);
      expect(powers).toEqual([...powers].sort((a, b) => a - b));
      for (const focus of [d.bestFocusDpt, d.predictedByFileDpt]) {
        expect(powers[0]!).toBeLessThan(focus - 5 * d.quarterWaveHalfWidthDpt);
        expect(powers.at(-1)!).toBeGreaterThan(focus + 5 * d.quarterWaveHalfWidthDpt);
      }
    }
  });
});

describe('focus-run', () => {
  const truth = runTruth();
  const optics = opticsOf(stationOf('focus-run'), truth.hidden);

  it('closed form: best focus and defocus of each frame', () => {
    expect(truth.bestFocusDpt).toBeCloseTo(optics.bestFocusDpt(truth.workingDistanceMm), 5);
    for (const [i, row] of readRows('focus-run').entries()) {
      expect(row.workingDistanceMm).toBe(truth.workingDistanceMm);
      expect(truth.frames[i]!.defocusWaves).toBeCloseTo(
        optics.defocusWaves(row.focalPowerDpt, row.workingDistanceMm),
        4,
      );
    }
  });
});
