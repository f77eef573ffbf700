import { readFileSync } from 'node:fs';
import { bench, describe } from 'vitest';
import { readStation } from '../src/station/index.js';
import { createSimulatedBench } from '../src/twin/index.js';
import { radialEntryCount } from '../src/twin/render/blur.js';
import { blurOfExposure } from '../src/twin/render/blur-of-exposure.js';
import { fastBlurredImager } from '../src/twin/render/blurred-image.fast.js';
import { frameKernel } from '../src/twin/render/frame-kernel.js';
import { pupilsOfLight } from '../src/twin/render/light-lines.js';
import { renderGrid } from '../src/twin/render/render-grid.js';
import { paintPiece } from '../src/twin/render/scene-piece.js';
import { fieldOfScene } from '../src/twin/scenes/field-of-scene.js';
import { scenes } from '../src/twin/scenes/index.js';
import { fastExposure } from '../src/twin/sensor/exposure.fast.js';
import { noiseDraws } from '../src/twin/sensor/noise-draws.js';

const station = readStation(readFileSync('stations/glaze-line.yaml', 'utf8'), { fileName: 'glaze-line.yaml' });
const { sensor } = station.parts;
const simulated = createSimulatedBench({ station, seed: 1 });
await simulated.camera.grab();

describe('simulated station, 1280 × 1024, whole frames (the aim: 30 a second on one core)', () => {
  let step = 0;

  bench('grab at a new focal power', async () => {
    step = (step + 1) % 40;
    await simulated.camera.setFocalPower({ focalPowerDpt: -1 + step * 0.08 });
    await simulated.camera.clock.sleep(100);
    await simulated.camera.grab();
  });

  bench('grab while the lens moves', async () => {
    step = (step + 1) % 40;
    await simulated.camera.setFocalPower({ focalPowerDpt: step % 2 });
    await simulated.camera.clock.sleep(4);
    await simulated.camera.grab();
  });

  bench('grab with the lens at rest', async () => {
    await simulated.camera.grab();
  });
});

describe('simulated station, 1280 × 1024, parts', () => {
  const size = { widthPx: 1280, heightPx: 1024 };
  const grid = renderGrid({
    ...size,
    pixelPitchMm: 0.0048,
    magnificationMin: 0.038,
    magnificationMax: 0.042,
    highestPerPx: 1,
    marginPx: 30,
  });
  const kernel = frameKernel();
  const { expose } = fastExposure({
    kernel,
    ...size,
    strideCount: 1280,
    normals: noiseDraws({ seed: 1, strideCount: 1280, heightPx: 1024 }).normals,
    response: new Float32Array(1280 * 1024).fill(1),
    sensor,
  });
  const draws = noiseDraws({ seed: 1, strideCount: 1280, heightPx: 1024 });
  const imager = fastBlurredImager({ kernel, ...size });
  const pupils = pupilsOfLight({ comaWaves: 0, highestS: 0.8 });
  const white = pupils([{ weight: 1, wavelengthRatio: 1, shiftWaves: 0, sphericalWaves: 0.5 }]);
  const scene = scenes['glazed-ware'](fieldOfScene(station), 1);
  const blurAt = (waves: number) =>
    blurOfExposure({
      grid,
      light: white,
      defocusWaves: Float64Array.of(waves),
      workingFNumber: 4.2,
      wavelengthNm: 525,
      pixelPitchMm: 0.0048,
      magnification: 0.04,
    });
  const piece = paintPiece({ scene, grid, seamMm: 0.5 });
  imager.loadScene(grid, piece);
  const blur = blurAt(0.4);
  const image = imager.image(blur);
  let frameId = 0;

  bench('paint the scene after a placement', () => {
    paintPiece({ scene, grid, seamMm: 0.5 });
  });
  bench('scene to spectrum after a placement', () => {
    imager.loadScene(grid, piece);
  });
  bench(`transfer function of one exposure, ${radialEntryCount} entries`, () => {
    blurAt((frameId++ % 50) / 10);
  });
  bench('multiply, transform back, resample', () => {
    imager.image(blur);
  });
  bench('noise and grey values', () => {
    expose({ image, electronsAtWhiteE: 9000 }, draws.frame(frameId++));
  });
});
