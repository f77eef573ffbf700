import { useCallback } from 'react';
import { Link } from 'wouter';
import { budgetBarsFigure, type FigureSize, powerDistanceFigure, rayDrawingFigure } from '../../report/index.js';
import type { PlanRecord, Station } from '../../station/index.js';
import { FigureView } from '../parts/figure-view.js';
import { LightTimeSection } from '../parts/light-time-section.js';
import { ToleranceSection } from '../parts/tolerance-section.js';
import { ValueField } from '../parts/value-field.js';
import { VerdictMark } from '../parts/verdict.js';
import { CompareSection } from './compare-section.js';
import { SharpnessSection } from './sharpness-section.js';

/** The layout: drawing to scale, power ↔ distance, focus budget; the values that move them stand between. */
export function LayoutPage({ station, plan }: { station: Station; plan: PlanRecord }) {
  const drawRays = useCallback((size: FigureSize) => rayDrawingFigure({ station, plan }, size), [station, plan]);
  const drawPower = useCallback(
    (size: FigureSize) => powerDistanceFigure({ station, plan, calibration: null }, size),
    [station, plan],
  );
  const drawBudget = useCallback((size: FigureSize) => budgetBarsFigure({ budget: plan.budget }, size), [plan]);
  const { task, layout, parts, controls } = station;
  return (
    <>
      <h1>Layout</h1>
      <p>
        <Link href="/layout/search">Search a parts library for layouts that meet the task</Link>
      </p>
      <VerdictLine plan={plan} />
      <FigureView draw={drawRays} aspect={0.42} main />
      <div className="value-fields">
        <ValueField
          label="Focus ring set to"
          unit="mm"
          path={['layout', 'ringDistanceMm']}
          value={layout.ringDistanceMm}
          canBeInfinite
          min={80}
          max={2000}
          step={5}
        />
        <ValueField
          label="Gap, tunable to fixed lens"
          unit="mm"
          path={['layout', 'gapMm']}
          value={layout.gapMm}
          min={0}
          max={80}
          step={0.5}
        />
        <ValueField
          label="Spacer"
          unit="mm"
          path={['parts', 'spacer', 'lengthMm']}
          value={parts.spacer.lengthMm}
          min={0}
          max={60}
          step={0.1}
        />
        <ValueField
          label="f-number"
          unit=""
          path={['layout', 'fNumber']}
          value={layout.fNumber}
          min={parts.fixedLens.fNumberMin}
          max={parts.fixedLens.fNumberMax}
          step={0.1}
        />
        <ValueField
          label="Exposure"
          unit="ms"
          path={['controls', 'exposureMs']}
          value={controls.exposureMs}
          min={0.05}
          max={20}
          step={0.05}
        />
        <ValueField
          label="Nearest distance"
          unit="mm"
          path={['task', 'nearMm']}
          value={task.nearMm}
          min={50}
          max={2000}
          step={1}
        />
        <ValueField
          label="Farthest distance"
          unit="mm"
          path={['task', 'farMm']}
          value={task.farMm}
          min={50}
          max={3000}
          step={1}
        />
        <ValueField
          label="Smallest feature"
          unit="mm"
          path={['task', 'smallestFeatureMm']}
          value={task.smallestFeatureMm}
          min={0.005}
          max={2}
          step={0.005}
        />
      </div>
      <div className="figure-row">
        <FigureView draw={drawPower} aspect={0.62} />
        <FigureView draw={drawBudget} aspect={0.62} />
      </div>
      <PlaneTable plan={plan} />
      <SharpnessSection station={station} plan={plan} />
      <LightTimeSection plan={plan} />
      <ToleranceSection station={station} />
      <CompareSection station={station} plan={plan} />
    </>
  );
}

/** The verdict with its first reason and remedy; for `meets`, the requirement with the least margin. */
function VerdictLine({ plan }: { plan: PlanRecord }) {
  const [first, ...more] = plan.reasons;
  return (
    <p className="verdict-line" role="status">
      <VerdictMark verdict={plan.verdict} /> {plan.verdict === 'meets' && 'Least margin: '}
      {first?.reason}
      {first?.remedy && <b> {first.remedy}</b>}
      {more.length > 0 && <span className="soft"> And {more.length} more in the ledger.</span>}
    </p>
  );
}

function PlaneTable({ plan }: { plan: PlanRecord }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard
    <section className="table-scroll" aria-label="Table of planes" tabIndex={0}>
      <table>
        <caption>What the layout does at each plane</caption>
        <thead>
          <tr>
            <th scope="col">Plane</th>
            <th scope="col">
              Distance <span className="unit">mm</span>
            </th>
            <th scope="col">
              Focal power <span className="unit">dpt</span>
            </th>
            <th scope="col">Magnification</th>
            <th scope="col">
              Field <span className="unit">mm</span>
            </th>
            <th scope="col">Working f-number</th>
            <th scope="col">
              Depth of field, task contrast <span className="unit">mm</span>
            </th>
            <th scope="col">MTF at task</th>
            <th scope="col">SNR</th>
          </tr>
        </thead>
        <tbody>
          {plan.planes.map((p) => (
            <tr key={p.name}>
              <th scope="row">{p.name}</th>
              <td>{p.workingDistanceMm.toFixed(1)}</td>
              <td>{p.focalPowerDpt === null ? 'out of reach' : p.focalPowerDpt.toFixed(3)}</td>
              <td>{p.magnification.toFixed(4)}</td>
              <td>
                {p.fieldWidthMm.toFixed(0)} × {p.fieldHeightMm.toFixed(0)}
              </td>
              <td>{p.workingFNumber.toFixed(2)}</td>
              <td>{p.depthOfFieldMm === null ? 'to infinity' : p.depthOfFieldMm.toFixed(1)}</td>
              <td>{p.mtfAtTask.toFixed(3)}</td>
              <td>{p.signalToNoise.toFixed(0)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
