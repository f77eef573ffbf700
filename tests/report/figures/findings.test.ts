import { describe, expect, it } from 'vitest';
import { toleranceRun } from '../../../src/planning/index.js';
import {
  budgetBarsFigure,
  calibrationResidualsFigure,
  edgeResponseFigure,
  powerDistanceFigure,
  rayDrawingFigure,
  type ThroughFocusInput,
  throughFocusFigure,
  toleranceBarsFigure,
} from '../../../src/report/figures/index.js';
import { formatFixed } from '../../../src/report/index.js';
import { sampleCommission, samplePlan, sampleStation } from '../sample-record.js';
import { elementsOf, parseXml, textOf } from '../strict-xml.js';

const size = { widthPx: 800, heightPx: 360 };
const plain = (text: string) => text.replaceAll('\u202F', ' ');
const textsOf = (svg: string) =>
  elementsOf(parseXml(svg))
    .filter(({ name }) => name === 'text')
    .map((e) => plain(textOf(e)));
const circlesOf = (svg: string) => elementsOf(parseXml(svg)).filter(({ name }) => name === 'circle');

const sweep: ThroughFocusInput = {
  workingDistanceMm: 443,
  measureName: 'TENV',
  points: [
    { focalPowerDpt: 0.3, measure: 10, measureStd: 1 },
    { focalPowerDpt: 0.4, measure: 30, measureStd: 1 },
    { focalPowerDpt: 0.5, measure: 12, measureStd: null },
  ],
  predictedBestDpt: 0.368,
  allowedHalfWidthDpt: 0.094,
  result: { kind: 'found', focalPowerDpt: 0.4142, focalPowerStdDpt: 0.0042 },
  range: null,
};

describe('what the figures say', () => {
  it('closed form: reach and task in the title of power and distance', () => {
    const { nearMm, farMm } = sampleStation.task;
    const plan = { ...samplePlan, reach: { ...samplePlan.reach, nearMm: 310, farMm: 720, farIsInfinite: false } };
    const { title } = powerDistanceFigure({ station: sampleStation, plan }, size);
    expect(plain(title)).toBe(`Focus reaches 310–720 mm; the task needs ${nearMm}–${farMm} mm`);
    const nothing = { ...plan, reach: { ...plan.reach, nearMm: null, farMm: null } };
    expect(plain(powerDistanceFigure({ station: sampleStation, plan: nothing }, size).title)).toMatch(
      /^No distance can be brought into focus/,
    );
  });

  it('closed form: shares of built stations as title, bars and labels', () => {
    const run = toleranceRun({ station: sampleStation, stationCount: 200, seed: 1 });
    run.advance(200);
    const record = run.record({ stationSha256: '', softwareVersion: '' });
    const { all } = record;
    const [now, after] = [all!.now.share, all!.afterCalibration.share].map((share) => (100 * share).toFixed(1));
    expect(plain(toleranceBarsFigure({ tolerance: record }, size).title)).toMatch(
      new RegExp(
        `^Of 200 stations built, ${now} % meet every requirement; (${after}|100) % after a distance calibration$`,
      ),
    );
    const widths = elementsOf(parseXml(toleranceBarsFigure({ tolerance: record }, size).svg))
      .filter(({ name }) => name === 'rect')
      .map(({ attributes }) => Number(attributes.width));
    expect(widths[0]! / widths[1]!).toBeCloseTo(all!.now.share / all!.afterCalibration.share, 3);
    const refused = { ...record, all: null, requirements: [], refusal: { reason: 'no power', remedy: 'see reach' } };
    expect(textsOf(toleranceBarsFigure({ tolerance: refused }, size).svg)).toEqual(['no power']);
  });

  it('closed form: the mean deviation of measured powers stands in the title', () => {
    const calibration = sampleCommission.calibration!;
    const differences = calibration.points.map((p) => p.measuredDpt.value - p.predictedDpt);
    const mean = differences.reduce((a, b) => a + b, 0) / differences.length;
    const { title, svg } = powerDistanceFigure({ station: sampleStation, plan: samplePlan, calibration }, size);
    expect(title).toContain(`measured powers lie ${mean.toFixed(3)} dpt above the prediction`);
    expect(circlesOf(svg)).toHaveLength(calibration.points.length);
  });

  it('closed form: a plane out of reach is named in the ray drawing, and has no rays', () => {
    const planes = samplePlan.planes.map((p) => (p.name === 'near' ? { ...p, focalPowerDpt: null } : p));
    const whole = rayDrawingFigure({ station: sampleStation, plan: samplePlan }, size);
    const part = rayDrawingFigure({ station: sampleStation, plan: { ...samplePlan, planes } }, size);
    expect(plain(part.title)).toContain('340 mm cannot be brought into focus with −2 to 3 dpt');
    expect(part.svg.match(/<path/g)!.length).toBe(whole.svg.match(/<path/g)!.length - 8);
    expect(textsOf(part.svg).some((t) => t.startsWith('near 340 mm · out of reach'))).toBe(true);
  });

  it('closed form: a long thin scene says by how much heights are enlarged', () => {
    const far = { ...samplePlan.planes[2]!, workingDistanceMm: 20_000, fieldWidthMm: 200, focalPowerDpt: -1.6 };
    const station = { ...sampleStation, task: { ...sampleStation.task, farMm: 20_000 } };
    const { svg, description } = rayDrawingFigure({ station, plan: { ...samplePlan, planes: [far] } }, size);
    const factor = textsOf(svg).flatMap((t) => /^heights × (\d+)$/.exec(t)?.[1] ?? [])[0];
    expect(Number(factor)).toBeGreaterThan(1);
    expect(description).toContain(`Heights are drawn ${factor} times larger`);
    expect(textsOf(rayDrawingFigure({ station: sampleStation, plan: samplePlan }, size).svg)).toContain('to scale');
  });

  it('closed form: found focus with its digits, and how far it is from the prediction', () => {
    const { title, svg } = throughFocusFigure(sweep, size);
    expect(plain(title)).toBe(
      `Best focus at 443 mm is 0.414 ± 0.004 dpt, +${formatFixed(0.4142 - 0.368, 3)} dpt from the prediction`,
    );
    expect(textsOf(svg)).toEqual(
      expect.arrayContaining(['predicted 0.368 dpt', 'found 0.414 ± 0.004 dpt', 'sharp within ±0.094 dpt']),
    );
    expect(circlesOf(svg)).toHaveLength(3);
  });

  it.each([0, 1, 2, 3])('degenerate: a live sweep of %d frames keeps its axis', (count) => {
    const live = { ...sweep, points: sweep.points.slice(0, count), result: null, range: { minDpt: -0.5, maxDpt: 1.3 } };
    const { title, svg } = throughFocusFigure(live, size);
    expect(plain(title)).toBe(`Sweep at 443 mm: ${count} ${count === 1 ? 'frame' : 'frames'} so far`);
    expect(textsOf(svg)).toEqual(expect.arrayContaining(['−0.4', '0.0', '1.2', 'no result yet']));
  });

  it('degenerate: a refused sweep says why', () => {
    const { title } = throughFocusFigure({ ...sweep, result: { kind: 'refused', message: 'too dark' } }, size);
    expect(plain(title)).toBe('No best focus at 443 mm: too dark');
  });

  it('closed form: edge response says measured, needed and predicted contrast, and marks the task', () => {
    const reading = sampleCommission.resolution[0]!;
    const { title, svg } = edgeResponseFigure({ reading, contrastNeeded: 0.2 }, size);
    expect(plain(title)).toBe(
      'Contrast at the task frequency is 0.465 ± 0.006 at near, 340 mm; needed 0.2, predicted 0.510',
    );
    expect(textsOf(svg)).toContain('task: ≥ 0.2 at 0.262 cycles/px');
    expect(circlesOf(svg)).toHaveLength(21);
  });

  it('degenerate: a refused edge keeps the required zone and says reason and remedy', () => {
    const { svg } = edgeResponseFigure({ reading: sampleCommission.resolution[2]!, contrastNeeded: 0.2 }, size);
    expect(textsOf(svg).join(' ')).toMatch(/No reading: the edge is tilted by 0.3°.*Turn the target to 5°/);
    expect(svg).toContain('--fw-required');
  });

  it('closed form: residuals say their rms and the widest 95 % interval', () => {
    const calibration = sampleCommission.calibration!;
    const { title } = calibrationResidualsFigure(
      { calibration, task: sampleStation.task, allowedHalfWidthDpt: 0.094 },
      size,
    );
    expect(plain(title)).toBe(
      'The calibrated curve leaves 0.0034 dpt rms; a prediction holds within ±0.018 dpt (95 %)',
    );
  });

  it('closed form: the budget compares two standard deviations with depth of field', () => {
    const [near] = samplePlan.budget;
    const good = budgetBarsFigure({ budget: [{ ...near!, rootSumSquareDpt: 0.03 }] }, size);
    expect(plain(good.title)).toBe(
      'Focus stays sharp: at near within ±0.06 dpt (2σ), depth of field by the task’s contrast allows ±0.094 dpt',
    );
    const bad = budgetBarsFigure({ budget: [{ ...near!, rootSumSquareDpt: 0.05 }] }, size);
    expect(plain(bad.title)).toBe(
      'Focus leaves depth of field by the task’s contrast: at near ±0.1 dpt (2σ), allowed ±0.094 dpt',
    );
  });

  it('degenerate: of many planes the three with least margin are drawn', () => {
    const budget = Array.from({ length: 12 }, (_, i) => ({
      ...samplePlan.budget[0]!,
      plane: `plane-${i + 1}`,
      rootSumSquareDpt: 0.01 * (i % 5),
    }));
    const shown = textsOf(budgetBarsFigure({ budget }, size).svg).filter((t) => t.startsWith('plane-'));
    expect(shown.map((t) => t.split(':')[0])).toEqual(['plane-4', 'plane-5', 'plane-10']);
  });
});
