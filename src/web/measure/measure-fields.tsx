import type { ReactNode } from 'react';
import { formatNumber } from '../../report/index.js';
import { useMeasure } from '../state/measure-state.js';
import { type MeasureKind, measureKinds } from './measure-order.js';
import type { MeasureValues } from './measure-values.js';
import type { FramePrediction } from './prediction.js';

const kindTitles: Record<MeasureKind, string> = {
  edge: 'edge response (MTF)',
  focus: 'focus measures',
  bars: 'three-bar target',
  star: 'star target',
  grid: 'dot grid or checkerboard',
  noise: 'noise of two frames',
};

/** What to measure, what it needs to know, and where the target stood. */
export function MeasureFields({ about }: { about: FramePrediction }) {
  const { what, setWhat, values, setValues, setPlace } = useMeasure();
  const { place, umPerPx, station } = about;
  const text = (key: keyof MeasureValues, label: string, unit: string, placeholder = '') => (
    <Field label={label} unit={unit}>
      <input
        inputMode="decimal"
        className="short-field"
        value={values[key]}
        placeholder={placeholder}
        onChange={(event) => setValues({ [key]: event.target.value })}
      />
    </Field>
  );
  const distance = (key: 'workingDistanceMm' | 'offBestFocusDpt', label: string, unit: string, step: number) => (
    <Field label={label} unit={unit}>
      <input
        type="number"
        step={step}
        value={Number(place[key].toFixed(4))}
        onChange={({ target }) => {
          const value = Number(target.value);
          const isAllowed = key === 'workingDistanceMm' ? value > 0 : Math.abs(value) <= 50;
          if (target.value !== '' && isAllowed) setPlace({ ...place, [key]: value });
        }}
      />
    </Field>
  );
  return (
    <div className="toolbar">
      <label>
        Measure{' '}
        <select value={what} onChange={(event) => setWhat(event.target.value as MeasureKind)}>
          {measureKinds.map((kind) => (
            <option key={kind} value={kind}>
              {kindTitles[kind]}
            </option>
          ))}
        </select>
      </label>
      {what === 'focus' && (
        <label>
          Noise of a pixel{' '}
          <select
            value={values.noise}
            onChange={(event) => setValues({ noise: event.target.value as MeasureValues['noise'] })}
          >
            <option value="sensor">as {station.parts.sensor.name}</option>
            <option value="given">as given</option>
            <option value="none">not known</option>
          </select>
        </label>
      )}
      {what === 'focus' && values.noise === 'given' && text('noiseStdDn', 'Standard deviation', 'DN')}
      {what === 'bars' &&
        text('umPerPx', 'A pixel on the object', 'µm', umPerPx === null ? '' : formatNumber(umPerPx, 4))}
      {what === 'bars' && text('modulation', 'Resolved from a contrast of', '', '0.153')}
      {what === 'star' && text('sectors', 'Dark sectors', '')}
      {what === 'grid' && text('pitchMm', 'Pitch', 'mm')}
      {what === 'grid' && (
        <label>
          Pattern{' '}
          <select
            value={values.pattern}
            onChange={(event) => setValues({ pattern: event.target.value as MeasureValues['pattern'] })}
          >
            <option value="">whichever is found</option>
            <option value="dots">dots</option>
            <option value="checker">checkerboard</option>
          </select>
        </label>
      )}
      {distance('workingDistanceMm', 'Predicted for a target at', 'mm', 1)}
      {distance('offBestFocusDpt', 'off best focus by', 'dpt', 0.01)}
    </div>
  );
}

function Field({ label, unit, children }: { label: string; unit: string; children: ReactNode }) {
  return (
    <span className="field">
      {/* biome-ignore lint/a11y/noLabelWithoutControl: the control is the child */}
      <label>
        {label} {children} {unit && <span className="unit">{unit}</span>}
      </label>
    </span>
  );
}
