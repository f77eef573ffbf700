import { useCallback, useMemo } from 'react';
import { planSharpness } from '../../planning/index.js';
import {
  contrastOverDistanceFigure,
  type FigureSize,
  fieldLightFigure,
  fieldOverDistanceFigure,
  formatNumber,
  mtfCurvesFigure,
} from '../../report/index.js';
import type { DepthOfFieldRecord, PlanRecord, SharpnessRecord, Station } from '../../station/index.js';
import { FigureView } from '../parts/figure-view.js';
import { ScrollTable } from '../parts/scroll-table.js';

/** Sharpness, light and scale over field and distance. */
export function SharpnessSection({ station, plan }: { station: Station; plan: PlanRecord }) {
  const sharpness = useMemo(() => planSharpness(station), [station]);
  const drawMtf = useCallback(
    (size: FigureSize) => mtfCurvesFigure({ station, sharpness }, size),
    [station, sharpness],
  );
  return (
    <>
      <h2 className="step-part">Sharpness, light and scale</h2>
      <FigureView draw={drawMtf} aspect={0.3} />
      <OverFieldAndDistance station={station} sharpness={sharpness} />
      <SharpnessTable sharpness={sharpness} />
      <DepthTable plan={plan} />
    </>
  );
}

/** The three figures over distance and field; on scales that hold the others' too. */
export function OverFieldAndDistance({
  station,
  sharpness,
  scaleWith,
}: {
  station: Station;
  sharpness: SharpnessRecord;
  scaleWith?: readonly SharpnessRecord[];
}) {
  const input = useMemo(
    () => ({ station, sharpness, ...(scaleWith && { scaleWith }) }),
    [station, sharpness, scaleWith],
  );
  const drawContrast = useCallback((size: FigureSize) => contrastOverDistanceFigure(input, size), [input]);
  const drawLight = useCallback((size: FigureSize) => fieldLightFigure(input, size), [input]);
  const drawField = useCallback((size: FigureSize) => fieldOverDistanceFigure(input, size), [input]);
  return (
    <div className="figure-row figure-row-of-three">
      <FigureView draw={drawContrast} aspect={0.75} />
      <FigureView draw={drawField} aspect={0.75} />
      <FigureView draw={drawLight} aspect={0.75} />
    </div>
  );
}

function SharpnessTable({ sharpness }: { sharpness: SharpnessRecord }) {
  return (
    <>
      <ScrollTable label="Table of sharpness">
        <caption>Contrast of the smallest feature, and the finest pattern that still has the contrast needed</caption>
        <thead>
          <tr>
            <th scope="col">Plane</th>
            <th scope="col">MTF at task, centre</th>
            <th scope="col">corner, at most</th>
            <th scope="col">
              Finest period on the object, centre <span className="unit">µm</span>
            </th>
            <th scope="col">
              corner <span className="unit">µm</span>
            </th>
            <th scope="col">
              Finest <span className="unit">lp/mm</span>
            </th>
            <th scope="col">Three-bar group / element</th>
            <th scope="col">
              Field that no stop cuts, diameter <span className="unit">mm</span>
            </th>
            <th scope="col">Light in the corner</th>
          </tr>
        </thead>
        <tbody>
          {sharpness.planes.map((p) => (
            <tr key={p.name}>
              <th scope="row">{p.name}</th>
              <td>{p.mtfAtTask.toFixed(3)}</td>
              <td>{p.cornerMtfAtTask.toFixed(3)}</td>
              <td>
                {p.finestCentre ? formatNumber(p.finestCentre.objectPeriodUm) : 'none'}
                {p.finestCentre?.limitedBy === 'sampling' && <small className="soft"> pixels</small>}
              </td>
              <td>{p.finestCorner ? formatNumber(p.finestCorner.objectPeriodUm) : 'none'}</td>
              <td>{p.finestCentre ? formatNumber(p.finestCentre.objectFrequencyPerMm) : 'none'}</td>
              <td>{p.threeBar ? `${p.threeBar.group} / ${p.threeBar.element}` : 'none'}</td>
              <td>{p.light.unvignettedFieldMm === null ? 'all' : formatNumber(p.light.unvignettedFieldMm)}</td>
              <td>{(100 * p.light.relativeIllumination.at(-1)!).toFixed(0)} %</td>
            </tr>
          ))}
        </tbody>
      </ScrollTable>
      <p className="soft">
        Three bars count as resolved by this: {sharpness.threeBarCriterion}. “Pixels”: finer patterns would alias. The
        corner is an upper bound; field curvature, astigmatism and lateral colour are in no datasheet.
      </p>
    </>
  );
}

const criteria = [
  ['taskContrast', 'task contrast (decides)'],
  ['blurDisc', 'blur disc'],
  ['quarterWave', 'quarter wave'],
] as const;

function DepthTable({ plan }: { plan: PlanRecord }) {
  return (
    <ScrollTable label="Table of depth of field">
      <caption>
        Depth of field three ways: towards the camera and away from it <span className="unit">mm</span>, and in focal
        power <span className="unit">dpt</span>
      </caption>
      <thead>
        <tr>
          <th scope="col">Plane</th>
          {criteria.map(([key, title]) => (
            <th scope="col" key={key}>
              {title}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {plan.planes.map(({ name, workingDistanceMm, depthOfField }) => (
          <tr key={name}>
            <th scope="row">{name}</th>
            {criteria.map(([key]) => (
              <td key={key}>{depthText(depthOfField[key], workingDistanceMm)}</td>
            ))}
          </tr>
        ))}
      </tbody>
    </ScrollTable>
  );
}

/** `−8.1 +8.5 mm (±0.051 dpt)`: the two sides are seldom alike. */
function depthText(depth: DepthOfFieldRecord | null, workingDistanceMm: number): string {
  if (depth === null) return 'none';
  const near = formatNumber(workingDistanceMm - depth.nearMm);
  const far = depth.farMm === null ? 'to infinity' : `+${formatNumber(depth.farMm - workingDistanceMm)}`;
  return `−${near} ${far} (+${formatNumber(depth.nearHalfWidthDpt, 2)} −${formatNumber(depth.farHalfWidthDpt, 2)})`;
}
