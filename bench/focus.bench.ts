import { spawnSync } from 'node:child_process';
import { bench, describe } from 'vitest';
import { seededRandom } from '../src/base/index.js';
import { type FocusMeasure, type GreyImage, measureFocus, measureFocusByAll } from '../src/image/index.js';

const [widthPx, heightPx] = [2448, 2048];
const rounds = 60;

/** A textured scene with noise; 16-bit frames of high contrast take the kernels' wide way. */
function frame(bitDepth: number, contrast = 0.3): GreyImage {
  const random = seededRandom(1);
  const top = 2 ** bitDepth - 1;
  const data = bitDepth === 8 ? new Uint8Array(widthPx * heightPx) : new Uint16Array(widthPx * heightPx);
  for (let i = 0; i < data.length; i++) {
    const wave = Math.sin((i % widthPx) / 37) * Math.cos(i / widthPx / 41);
    data[i] = top * (0.45 + contrast * wave + 0.02 * random.uniform());
  }
  return { widthPx, heightPx, bitDepth, data };
}

const mono8 = frame(8);

/** Milliseconds a run: the best by the clock, and processor time, which other work on the machine disturbs least. */
interface Times {
  best: number;
  cpu: number;
}

function milliseconds(work: () => void): Times {
  for (let i = 0; i < 20; i++) work();
  const before = process.cpuUsage();
  const times = Array.from({ length: rounds }, () => {
    const startMs = performance.now();
    work();
    return performance.now() - startMs;
  });
  const { user, system } = process.cpuUsage(before);
  return { best: Math.min(...times), cpu: (user + system) / 1000 / rounds };
}

/** OpenCV of Debian's python3-opencv on the same frame; null where it is not installed. */
function opencv(): (Record<string, Times> & { version?: string }) | null {
  for (const python of ['/usr/bin/python3', 'python3']) {
    const args = ['bench/focus_opencv.py', String(widthPx), String(heightPx), String(rounds)];
    const { status, stdout } = spawnSync(python, args, { input: mono8.data, encoding: 'utf8' });
    if (status === 0) return JSON.parse(stdout);
  }
  return null;
}

const text = ({ best, cpu }: Times): string => `${best.toFixed(2)} ms (processor time ${cpu.toFixed(2)})`;
const over = (a: Times, b: Times): string =>
  `${(a.best / b.best).toFixed(1)} (processor time ${(a.cpu / b.cpu).toFixed(1)})`;

/** The comparison, in turns, so that a change of the machine's load meets both. */
function compare(): void {
  const measured = (image: GreyImage, measure: FocusMeasure) =>
    milliseconds(() => void measureFocus({ image, measure }));
  const depths = [
    ['12 bit', frame(12)],
    ['16 bit, low contrast', frame(16, 0.01)],
    ['16 bit, full contrast', frame(16)],
  ] as const;
  for (let turn = 1; turn <= 3; turn++) {
    const other = opencv();
    for (const [measure, forms] of [
      ['laplacian-variance', ['laplacian_norm', 'laplacian_mean_std_dev']],
      ['tenengrad', ['sobel_norm', 'spatial_gradient_norm']],
    ] as const) {
      const own = measured(mono8, measure);
      console.log(`\n${measure}, 2448 × 2048 Mono8, turn ${turn}: ${text(own)}`);
      if (other === null) console.log('  OpenCV: not measured (Debian’s python3-opencv is not installed)');
      else
        for (const form of forms)
          console.log(
            `  OpenCV ${other.version} ${form}, one thread: ${text(other[form]!)}, ratio ${over(other[form]!, own)}`,
          );
      for (const [name, image] of depths) {
        const time = measured(image, measure);
        console.log(`  ${name}: ${text(time)}, ratio to 8 bit ${over(time, own)}`);
      }
    }
  }
}
compare();

describe('focus measures, 2448 × 2048 Mono8', () => {
  for (const measure of ['laplacian-variance', 'tenengrad'] as const)
    bench(measure, () => void measureFocus({ image: mono8, measure }));
  bench('all ten in one pass', () => void measureFocusByAll({ image: mono8 }));
});
