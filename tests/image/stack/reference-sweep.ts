import { readFileSync } from 'node:fs';
import { type DistanceOfPower, decodeImage, type GreyImage, heightMap } from '../../../src/image/index.js';
import { stackMemory, stackMemoryBytes } from '../../../src/image/stack/stack-memory.js';
import { stackSweep } from '../../../src/image/stack/stack-sweep.js';
import { throughFocusModel } from '../../../src/image/stack/through-focus-model.js';
import { workingDistanceAt } from '../../../src/optics/index.js';
import { layoutModelOf, readStation } from '../../../src/station/index.js';

const folder = 'references/height';

/** What references/height/make_height.py says of its frames. */
export interface HeightTruth {
  gridPx: number;
  referencePowerDpt: number;
  depthMm: number[][];
  blank: { xPx: number; yPx: number; radiusPx: number };
  quarterWaveHalfWidthDpt: number;
}

/** The first frames (all, when not said) that numpy rendered, with their truth and the optical model of their station. */
export function referenceSweep(last = 24) {
  const station = readStation(readFileSync(`${folder}/station.yaml`, 'utf8'), { fileName: 'station.yaml' });
  const rows = readFileSync(`${folder}/frames.csv`, 'utf8')
    .trim()
    .split('\n')
    .slice(1, 1 + last);
  const frames = rows.map((row) => {
    const [file, power] = row.split(',') as [string, string];
    return { focalPowerDpt: Number(power), image: decodeImage(readFileSync(`${folder}/${file}`), file) };
  });
  const model = layoutModelOf(station);
  const through = throughFocusModel({
    model,
    wavelengthNm: station.parts.light.wavelengthNm,
    pixelPitchUm: station.parts.sensor.pixelPitchUm,
    focalPowersDpt: frames.map((frame) => frame.focalPowerDpt),
  })!;
  const truth = JSON.parse(readFileSync(`${folder}/truth.json`, 'utf8')) as HeightTruth;
  const distanceOf: DistanceOfPower = (focalPowerDpt) => {
    const at = (dpt: number) => {
      const focus = workingDistanceAt({ model, focalPowerDpt: dpt });
      return focus.kind === 'real' ? focus.workingDistanceMm : Number.NaN;
    };
    return {
      workingDistanceMm: at(focalPowerDpt),
      slopeMmPerDpt: (at(focalPowerDpt + 1e-3) - at(focalPowerDpt - 1e-3)) / 2e-3,
    };
  };
  return { station, frames, through, truth, distanceOf };
}

/** All steps of a stack in one thread. */
export function stacked(images: readonly GreyImage[], sweep: ReturnType<typeof referenceSweep>, blockPx = 8) {
  const { widthPx, heightPx, bitDepth } = images[0]!;
  const [columns, rows] = [Math.floor(widthPx / blockPx), Math.floor(heightPx / blockPx)];
  const size = { frames: images.length, blocks: columns * rows, pixels: widthPx * heightPx, bitDepth, keptFrames: 5 };
  const memory = stackMemory(new ArrayBuffer(stackMemoryBytes(size)), size);
  const { gainDnPerE, readNoiseE, blackLevelDn } = sweep.station.parts.sensor;
  const noise = { gainDnPerE, readNoiseE, blackLevelDn };
  const worker = stackSweep({ widthPx, heightPx, bitDepth, blockPx, model: sweep.through, noise }, memory);
  for (const [i, image] of images.entries()) worker.measure(i, image);
  worker.prepare();
  worker.fit(0, columns * rows);
  worker.finish();
  const heights = heightMap({
    ...memory,
    columns,
    rows,
    stepPx: blockPx,
    quarterWaveHalfWidthDpt: sweep.through.quarterWaveHalfWidthDpt,
    distanceOf: sweep.distanceOf,
  });
  return { memory, worker, heights, columns, rows };
}
