import { useCallback } from 'react';
import { Link } from 'wouter';
import {
  budgetBarsFigure,
  type FigureSize,
  formatFixed,
  powerDistanceFigure,
  rayDrawingFigure,
  unitsKept,
} from '../../report/index.js';
import type { PlanRecord, Station } from '../../station/index.js';
import { FigureView } from '../parts/figure-view.js';
import { LightTimeSection } from '../parts/light-time-section.js';
import { PupilTable } from '../parts/pupil-table.js';
import { ScrollTable } from '../parts/scroll-table.js';
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
  return (
    <>
      <h1>Layout</h1>
      <p>
        <Link href="/layout/search">Search a parts library for layouts that meet the task</Link>
      </p>
      <VerdictLine plan={plan} />
      <FigureView draw={drawRays} aspect={0.42} main />
      <ValueFields station={station} />
      <div className="figure-row">
        <FigureView draw={drawPower} aspect={0.62} />
        <FigureView draw={drawBudget} aspect={0.62} />
      </div>
      <PlaneTable plan={plan} />
      <PupilTable planes={plan.planes} />
      <SharpnessSection station={station} plan={plan} />
      <LightTimeSection plan={plan} />
      <ToleranceSection station={station} />
      <CompareSection station={station} plan={plan} />
    </>
  );
}

/** Where the values stand in the station file. */
const paths = {
  ring: ['layout', 'ringDistanceMm'],
  gap: ['layout', 'gapMm'],
  spacer: ['parts', 'spacer', 'lengthMm'],
  fNumber: ['layout', 'fNumber'],
  exposure: ['controls', 'exposureMs'],
  near: ['task', 'nearMm'],
  far: ['task', 'farMm'],
  feature: ['task', 'smallestFeatureMm'],
} as const;

/** The values that are changed beside the drawing, with the ranges of their sliders. */
function ValueFields({ station: { layout, parts, controls, task } }: { station: Station }) {
  const { fNumberMin, fNumberMax } = parts.fixedLens;
  const mm = { unit: 'mm', min: 0 };
  return (
    <div className="value-fields">
      <ValueField
        {...{ ...mm, label: 'Focus ring set to', path: paths.ring, min: 80, max: 2000, step: 5 }}
        value={layout.ringDistanceMm}
        canBeInfinite
      />
      <ValueField
        {...{ ...mm, label: 'Gap, tunable to fixed lens', path: paths.gap, max: 80, step: 0.5 }}
        value={layout.gapMm}
      />
      <ValueField
        {...{ ...mm, label: 'Spacer', path: paths.spacer, max: 60, step: 0.1 }}
        value={parts.spacer.lengthMm}
      />
      <ValueField
        {...{ label: 'f-number', unit: '', path: paths.fNumber, min: fNumberMin, max: fNumberMax, step: 0.1 }}
        value={layout.fNumber}
      />
      <ValueField
        {...{ label: 'Exposure', unit: 'ms', path: paths.exposure, min: 0.05, max: 20, step: 0.05 }}
        value={controls.exposureMs}
      />
      <ValueField
        {...{ ...mm, label: 'Nearest distance', path: paths.near, min: 50, max: 2000, step: 1 }}
        value={task.nearMm}
      />
      <ValueField
        {...{ ...mm, label: 'Farthest distance', path: paths.far, min: 50, max: 3000, step: 1 }}
        value={task.farMm}
      />
      <ValueField
        {...{ ...mm, label: 'Smallest feature', path: paths.feature, min: 0.005, max: 2, step: 0.005 }}
        value={task.smallestFeatureMm}
      />
    </div>
  );
}

/** The verdict with its first reason and remedy; for `meets`, the requirement with the least margin. */
function VerdictLine({ plan }: { plan: PlanRecord }) {
  const [first, ...more] = plan.reasons;
  return (
    <p className="verdict-line" role="status">
      <VerdictMark verdict={plan.verdict} /> {plan.verdict === 'meets' && 'Least margin: '}
      {first && unitsKept(first.reason)}
      {first?.remedy && <b> {unitsKept(first.remedy)}</b>}
      {more.length > 0 && <span className="soft"> And {more.length} more in the ledger.</span>}
    </p>
  );
}

function PlaneTable({ plan }: { plan: PlanRecord }) {
  return (
    <ScrollTable label="Table of planes">
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
            <td>{p.focalPowerDpt === null ? 'out of reach' : formatFixed(p.focalPowerDpt, 3)}</td>
            <td>{p.magnification.toFixed(4)}</td>
            <td>
              {p.fieldWidthMm.toFixed(0)} × {p.fieldHeightMm.toFixed(0)}
            </td>
            <td>{p.workingFNumber.toFixed(2)}</td>
            <td>{depthText(p.depthOfFieldMm)}</td>
            <td>{p.mtfAtTask.toFixed(3)}</td>
            <td>{p.signalToNoise.toFixed(0)}</td>
          </tr>
        ))}
      </tbody>
    </ScrollTable>
  );
}

const depthText = (depthMm: number | null): string =>
  depthMm === null ? 'to infinity' : depthMm === 0 ? 'none' : depthMm.toFixed(1);
