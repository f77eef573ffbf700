import type { RunEvent, RunObserver } from '../protocol/index.js';
import { withMinusSigns } from './output.js';
import { stderrBar } from './stderr-bar.js';

/** Shows a run on standard error: a bar on a terminal, plain lines elsewhere. */
export function progressOnStderr(): { observe: RunObserver; stop(): void } {
  const bar = stderrBar('{bar} {value}/{total}  {message}');
  return {
    observe(event) {
      if (bar && event.type === 'progress') return bar.show(event.done, event.total, { message: event.message });
      if (bar && event.type === 'sweep-point') return;
      bar?.stop();
      writeLine(lineOf(event));
    },
    stop: () => bar?.stop(),
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
      return `  ${event.workingDistanceMm.toFixed(1)} mm: best focus ${event.focalPowerDpt.toFixed(3)} ± ${event.focalPowerStdDpt.toFixed(3)} dpt${event.temperatureDegC === null ? '' : ` with the lens at ${event.temperatureDegC.toFixed(1)} °C`} (predicted ${event.predictedDpt.toFixed(3)} at its reference temperature)`;
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
