import { formatNumber, sharePercent } from '../../report/index.js';
import type { AutofocusPrediction, LightPlan, PlanRecord, TimingPlan } from '../../station/index.js';
import { ScrollTable } from './scroll-table.js';

const searchNames = { 'three-probes': 'Three probes', sweep: 'Sweep of nine frames' } as const;

/** Exposures that would do, every move of the lens plain and shaped, and what autofocus can be expected to reach. */
export function LightTimeSection({ plan }: { plan: PlanRecord }) {
  return (
    <section aria-label="Light, time and autofocus">
      <h2 className="step-part">Light, time and autofocus</h2>
      {plan.light && <LightTable light={plan.light} />}
      <MovesTable timing={plan.timing} cycleMs={plan.cycleMs} />
      {plan.autofocus && <AutofocusTable autofocus={plan.autofocus} />}
    </section>
  );
}

const ms = (value: number | null, none: string) => (value === null ? none : `${formatNumber(value)} ms`);

function LightTable({ light }: { light: LightPlan }) {
  return (
    <ScrollTable label="Table of light">
      <caption>
        Light: {formatNumber(light.irradianceUwPerCm2)} <span className="unit">µW/cm²</span> on the sensor from white,{' '}
        {light.from === 'measured-frame' ? 'from one measured frame' : 'as stated'}
      </caption>
      <tbody>
        <tr>
          <th scope="row">Exposure as written</th>
          <td>{ms(light.exposureMs, '–')}</td>
        </tr>
        <tr>
          <th scope="row">Least for the signal-to-noise ratio</th>
          <td>{ms(light.neededExposureMs, 'none is enough')}</td>
        </tr>
        <tr>
          <th scope="row">Longest by motion</th>
          <td>{ms(light.motionExposureMs, 'any: the object rests')}</td>
        </tr>
        <tr>
          <th scope="row">Saturates at</th>
          <td>{ms(light.saturationExposureMs, '–')}</td>
        </tr>
        <tr>
          <th scope="row">Gain that fills nine tenths of the grey values</th>
          <td>
            {formatNumber(light.fillingGainDnPerE)} <span className="unit">DN/e⁻</span> (now{' '}
            {formatNumber(light.gainDnPerE)})
          </td>
        </tr>
      </tbody>
    </ScrollTable>
  );
}

function MovesTable({ timing, cycleMs }: { timing: TimingPlan; cycleMs: number | null }) {
  if (timing.moves.length === 0) return null;
  const fits =
    timing.planesPerCycleCount === null ? '' : `; ${timing.planesPerCycleCount} such planes fit into the cycle`;
  return (
    <ScrollTable label="Table of moves">
      <caption>
        Settling of each move: all planes take {ms(cycleMs, 'for ever')}, shaped {ms(timing.shapedCycleMs, '–')}
        {fits}
      </caption>
      <thead>
        <tr>
          <th scope="col">Move</th>
          <th scope="col">
            Step <span className="unit">dpt</span>
          </th>
          <th scope="col">Plain command</th>
          <th scope="col">Two partial steps</th>
          <th scope="col">Three partial steps</th>
        </tr>
      </thead>
      <tbody>
        {timing.moves.map((move) => (
          <tr key={move.toPlane}>
            <th scope="row">
              {move.fromPlane} → {move.toPlane}
            </th>
            <td>{formatNumber(move.stepDpt)}</td>
            <td>{ms(move.plainMs, 'never')}</td>
            <td>{ms(move.zeroVibrationMs, 'does not ring')}</td>
            <td>{ms(move.zeroVibrationDerivativeMs, 'does not ring')}</td>
          </tr>
        ))}
      </tbody>
    </ScrollTable>
  );
}

function AutofocusTable({ autofocus }: { autofocus: AutofocusPrediction }) {
  return (
    <ScrollTable label="Table of autofocus">
      <caption>Autofocus at {autofocus.plane}, where it is hardest: the best that frames with this noise allow</caption>
      <thead>
        <tr>
          <th scope="col">Search</th>
          <th scope="col">
            Bound, 1σ <span className="unit">dpt</span>
          </th>
          <th scope="col">
            With the lens, 1σ <span className="unit">dpt</span>
          </th>
          <th scope="col">Inside depth of field</th>
          <th scope="col">Time</th>
        </tr>
      </thead>
      <tbody>
        {autofocus.searches.map((search) => (
          <tr key={search.name}>
            <th scope="row">{searchNames[search.name]}</th>
            <td>{formatNumber(search.boundStdDpt, 2)}</td>
            <td>{formatNumber(search.finalStdDpt, 2)}</td>
            <td>{sharePercent(search.insideProbability)}</td>
            <td>{ms(search.timeMs, 'never settles')}</td>
          </tr>
        ))}
      </tbody>
    </ScrollTable>
  );
}
