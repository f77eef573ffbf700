import { describe, expect, it } from 'vitest';
import { planSharpness, planStation } from '../../../src/planning/index.js';
import { sharpRange } from '../../../src/report/figures/contrast-over-distance.js';
import { outerAndMiddle } from '../../../src/report/figures/mtf-curves.js';
import {
  contrastOverDistanceFigure,
  fieldLightFigure,
  fieldOverDistanceFigure,
  mtfCurvesFigure,
} from '../../../src/report/index.js';
import type { HeldFocus } from '../../../src/station/index.js';
import { changed } from '../../planning/changed-station.js';
import { demoStation } from '../../station/demo-stations.js';
import { elementsOf, parseXml, textOf } from '../strict-xml.js';

const glaze = demoStation('glaze-line');
const stopper = demoStation('vial-stopper');
const size = { widthPx: 452, heightPx: 280 };
const held = (mtfAtTask: number[]): HeldFocus => ({
  name: 'middle',
  focusedAtMm: 120,
  focalPowerDpt: 1,
  mtfAtTask,
  fieldWidthMm: mtfAtTask.map(() => 50),
});
const distancesMm = [100, 110, 120, 130, 140];

describe('figures of sharpness', () => {
  it('closed form: a held focus is sharp between its two crossings, straight between samples', () => {
    const range = sharpRange(held([0, 0.4, 0.6, 0.2, 0]), distancesMm, 0.3);
    expect(range).toEqual({ nearMm: 107.5, farMm: 127.5, openNear: false, openFar: false });
    expect(sharpRange(held([0.5, 0.5, 0.6, 0.2, 0.9]), distancesMm, 0.3)).toMatchObject({
      nearMm: 100,
      openNear: true,
    });
    expect(sharpRange(held([0.9, 0.4, 0.1, 0.2, 0]), distancesMm, 0.3)).toBeNull();
    expect(sharpRange(held([]), [], 0.3)).toBeNull();
  });

  it('property: the range in the title is the depth of field by task contrast, within a sample', () => {
    const station = glaze;
    const sharpness = planSharpness(station);
    const plan = planStation(station, { stationSha256: '', softwareVersion: '' });
    const { workingDistancesMm, held: all } = sharpness.overDistance;
    for (const one of all) {
      const depth = plan.planes.find(({ name }) => name === one.name)!.depthOfField.taskContrast!;
      const range = sharpRange(one, workingDistancesMm, station.task.contrastNeeded)!;
      if (!range.openNear) expect(Math.abs(range.nearMm - depth.nearMm)).toBeLessThan(2);
      if (!range.openFar) expect(Math.abs(range.farMm - depth.farMm!)).toBeLessThan(2);
    }
  });

  it('property: titles say the finding, met or not', () => {
    const title = (station: typeof glaze) =>
      mtfCurvesFigure({ station, sharpness: planSharpness(station) }, size).title;
    expect(title(glaze)).toMatch(
      /^Smallest feature: contrast is at least 0\.50, in the corner at far; 0\.2 is needed$/,
    );
    expect(title(changed(glaze, { task: { contrastNeeded: 0.6 } }))).toMatch(/contrast falls to 0\.50/);
    expect(title(changed(glaze, { task: { smallestFeatureMm: 0.13 } }))).toMatch(
      /finer than the pixels can sample at far/,
    );
    const cut = changed(glaze, { parts: { tunableLens: { clearApertureMm: 8 } } });
    const light = fieldLightFigure({ station: cut, sharpness: planSharpness(cut) }, size).title;
    expect(light).toMatch(/The corner is darkest at near: \d+\D+% of the centre.*cuts from [\d.]+\D+mm outwards/);
  });

  it('property: figures drawn for comparison have the same numbers on their axes', () => {
    const both = [planSharpness(glaze), planSharpness(stopper)];
    for (const figure of [contrastOverDistanceFigure, fieldOverDistanceFigure, fieldLightFigure]) {
      const axes = [glaze, stopper].map((station, i) => {
        const { svg } = figure({ station, sharpness: both[i]!, scaleWith: both }, size);
        const texts = elementsOf(parseXml(svg)).filter(({ name }) => name === 'text');
        return texts.map(textOf).filter((text) => /^[\d.]+$/.test(text));
      });
      // The range of the vertical axis also holds what each task needs, so compare the horizontal numbers at least.
      const shared = axes[0]!.filter((text) => axes[1]!.includes(text));
      expect(shared.length).toBeGreaterThanOrEqual(Math.min(axes[0]!.length, axes[1]!.length) - 2);
    }
  });

  it('degenerate: at most three planes are drawn, the outermost among them; none gives a figure that says so', () => {
    const planes = [3, 1, 5, 2, 4].map((workingDistanceMm) => ({ workingDistanceMm }));
    expect(outerAndMiddle(planes).map((plane) => plane.workingDistanceMm)).toEqual([1, 3, 5]);
    const nothing = { ...planSharpness(glaze), planes: [], darkestPlane: null, breathingRatio: null };
    const empty = { ...nothing, overDistance: { ...nothing.overDistance, held: [] } };
    for (const figure of [mtfCurvesFigure, contrastOverDistanceFigure, fieldLightFigure, fieldOverDistanceFigure]) {
      expect(figure({ station: glaze, sharpness: empty }, size).title).toMatch(/no plane can be focused/);
    }
  });
});
