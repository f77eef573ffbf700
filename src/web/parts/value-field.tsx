import { memo, useEffect, useId, useRef, useState } from 'react';
import { stationValueAt } from '../../station/index.js';
import { useStation } from '../state/station-state.js';

/** A value of the station that is changed in place: dragged, or typed. */
export interface ValueFieldProps {
  label: string;
  /** Empty for a pure number. */
  unit: string;
  path: readonly [string, ...string[]];
  /** null stands for infinity. */
  value: number | null;
  min: number;
  max: number;
  step: number;
  /** The value may be infinity, which the station file writes as null. */
  canBeInfinite?: boolean;
}

/** Rendered anew only when its own value or what is wrong with it changes: `path` must be a constant. */
export const ValueField = memo((props: ValueFieldProps) => {
  const { label, unit, path, value, min, max, step, canBeInfinite = false } = props;
  const setValue = useStation((state) => state.setValue);
  const id = useId();
  // Where the text holds a value that is not allowed, it is shown with what is wrong; `value` is then the last good one.
  const written = useStation(({ problems, yaml }) => (problems.length > 0 ? stationValueAt(yaml, path) : undefined));
  const refused = (typeof written === 'number' || typeof written === 'string') && written !== value ? written : null;
  const problem = useStation(({ problems }) =>
    problems.find((text) => text.includes(`${path.join('.')} `))?.replace(/^line \d+: /, ''),
  );
  const lastFinite = useRef(max);
  if (value !== null) lastFinite.current = value;
  // What is typed stays to be seen while it is no allowed value, as on the way from "1" to "16".
  const [typed, setTyped] = useState<string | null>(null);
  const shown = typed ?? refused ?? value;
  const pending = shown !== null && Number(shown) !== value;
  useEffect(() => setTyped((text) => (text !== null && Number(text) === value ? text : null)), [value]);
  const change = (text: string) => {
    const next = Number(text);
    if (text !== '' && Number.isFinite(next)) setValue(path, next);
  };
  const type = (text: string) => {
    setTyped(text);
    change(text);
  };
  return (
    <div className="value-field">
      <label htmlFor={id}>{label}</label>
      <input
        type="range"
        aria-label={[label, unit, 'drag'].filter(Boolean).join(', ')}
        min={Math.min(min, value ?? min)}
        max={Math.max(max, value ?? max)}
        step={step}
        value={value ?? max}
        disabled={value === null}
        onChange={(event) => {
          setTyped(null);
          change(event.target.value);
        }}
      />
      {value === null && refused === null ? (
        <output id={id} className="value-infinite">
          infinity
        </output>
      ) : (
        <>
          <input
            id={id}
            type="number"
            step={step}
            value={shown ?? ''}
            aria-invalid={pending}
            aria-describedby={problem && `${id}-problem`}
            onChange={(event) => type(event.target.value)}
            onBlur={() => typed === '' && setTyped(null)}
          />
          <span className="unit">{unit}</span>
        </>
      )}
      {problem && (
        <small className="value-problem" id={`${id}-problem`}>
          {problem}
        </small>
      )}
      {canBeInfinite && (
        <label className="value-option">
          <input
            type="checkbox"
            aria-label={`${label} infinity`}
            checked={value === null}
            onChange={(event) => setValue(path, event.target.checked ? null : lastFinite.current)}
          />{' '}
          infinity
        </label>
      )}
    </div>
  );
});
