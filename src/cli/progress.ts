import { Presets, SingleBar } from 'cli-progress';
import type { RunEvent, RunObserver } from '../protocol/index.js';
import { withMinusSigns } from './output.js';

/** Shows a run on standard error: a bar on a terminal, plain lines elsewhere. */
export function progressOnStderr(): { observe: RunObserver; stop(): void } {
  if (!process.stderr.isTTY) {
    return { observe: (event) => writeLine(lineOf(event)), stop: () => {} };
  }
  const bar = new SingleBar(
    {
      format: '{bar} {value}/{total}  {message}',
      stream: process.stderr,
      hideCursor: true,
      clearOnComplete: true,
      gracefulExit: false,
    },
    Presets.shades_classic,
  );
  let started = false;
  const stop = () => {
    if (started) bar.stop();
    started = false;
  };
  return {
    observe(event) {
      if (event.type === 'progress') {
        if (!started) bar.start(event.total, event.done, { message: event.message });
        started = true;
        bar.setTotal(event.total);
        bar.update(event.done, { message: event.message });
        return;
      }
      if (event.type === 'sweep-point') return;
      stop();
      writeLine(lineOf(event));
    },
    stop,
  };
}

function writeLine(line: string | null): void {
  if (line !== null) process.stderr.write(`${withMinusSigns(line)}\n`);
}

/** One line for an event; null for those that only matter to a live picture. */
function lineOf(event: RunEvent): string | null {
  switch (event.type) {
    case 'step-started':
      return `${event.title} …`;
    case 'progress':
    case 'sweep-point':
      return null;
    case 'notice':
      return `  ${event.message}`;
    case 'focus-found':
      return `  ${event.workingDistanceMm.toFixed(1)} mm: best focus ${event.focalPowerDpt.toFixed(3)} ± ${event.focalPowerStdDpt.toFixed(3)} dpt (predicted ${event.predictedDpt.toFixed(3)})`;
    case 'focus-refused':
      return `  ${event.workingDistanceMm.toFixed(1)} mm: refused: ${event.reason}. ${event.remedy}`;
    case 'calibration-fitted':
      return `  residual ${event.residualRmsDpt.toFixed(4)} dpt rms. ${event.explanation}`;
    case 'resolution-read':
      return `  ${event.name}, ${event.workingDistanceMm.toFixed(1)} mm: ${event.message}`;
    case 'finished':
      return event.message;
  }
}
