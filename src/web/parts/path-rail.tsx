import { memo, useLayoutEffect, useRef } from 'react';
import { Link, useLocation } from 'wouter';
import { verdictMarks } from '../../report/index.js';
import type { JobStep } from '../job-steps.js';

/** The job's path: ten steps, each with its state as a word and a shape. */
export const PathRail = memo(({ steps }: { steps: readonly JobStep[] }) => {
  const [here] = useLocation();
  const rail = useRef<HTMLElement>(null);
  const active = steps.find(({ path }) => here === path || here.startsWith(`${path}/`))?.path;
  useLayoutEffect(() => {
    const step = rail.current?.querySelector(`a[href="#${active}"]`);
    if (!rail.current || !step) return;
    // Where the steps lie in one row, the active one is brought to its middle; the page itself does not move.
    const [row, place] = [rail.current.getBoundingClientRect(), step.getBoundingClientRect()];
    rail.current.scrollLeft += place.left - row.left - (row.width - place.width) / 2;
  }, [active]);
  return (
    <nav className="rail" ref={rail} aria-label="Steps of the job">
      <ol>
        {steps.map((step, i) => (
          <li key={step.path}>
            {step.available ? (
              <Link href={step.path} aria-current={step.path === active ? 'step' : undefined}>
                <StepText number={i + 1} step={step} />
              </Link>
            ) : (
              <span className="rail-absent">
                <StepText number={i + 1} step={step} />
              </span>
            )}
          </li>
        ))}
      </ol>
    </nav>
  );
});

function StepText({ number, step }: { number: number; step: JobStep }) {
  return (
    <>
      <span className="rail-number">{number}</span>
      <span className="rail-title">{step.title}</span>
      <span className="rail-state">
        <StateShape shape={step.state.shape} />
        {step.state.word}
      </span>
    </>
  );
}

function StateShape({ shape }: { shape: JobStep['state']['shape'] }) {
  const path = shape === 'open' ? 'M3 7h10v2h-10z' : shape === 'running' ? 'M4 2l9 6l-9 6z' : verdictMarks[shape].path;
  return (
    <svg
      viewBox="0 0 16 16"
      width="10"
      height="10"
      aria-hidden="true"
      className={shape === 'running' ? 'live' : undefined}
    >
      <path d={path} fill="currentColor" fillRule="evenodd" />
    </svg>
  );
}
