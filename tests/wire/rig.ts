import type { StationInput } from '../../src/station/index.js';
import { type ServedStation, type ServeOrder, serveStation } from './served-station.js';

/** A sensor of so many pixels and such a pitch, cut from the station's own. */
const sensor = (widthPx: number, heightPx: number, pixelPitchUm: number) => (file: StationInput) => {
  Object.assign(file.parts.sensor, { name: 'Invented sensor', widthPx, heightPx, pixelPitchUm });
};

/** Several changes, one after the other. */
const all =
  (...changes: ((file: StationInput) => void)[]) =>
  (file: StationInput) => {
    for (const change of changes) change(file);
  };

/**
 * Cameras that differ in lens, pixels, scene, light and hidden errors, for judging what opens them by their address alone.
 * All simulated; each is hard in one way, which its name says.
 */
export const rigCameras = {
  easy: { change: sensor(480, 384, 4.8), seed: 3 },
  hysteresis: {
    change: all(sensor(512, 384, 3.45), (file) => {
      Object.assign(file.parts.tunableLens, { hysteresisDpt: 0.12, repeatabilityDpt: 0.015 });
    }),
    seed: 11,
  },
  'gain-and-offset': {
    change: all(sensor(480, 384, 4.8), (file) => {
      file.parts.tunableLens.tolerance = { offsetDpt: 0.25, gainRelative: 0.08 };
    }),
    seed: 12,
  },
  breathing: {
    change: all(sensor(512, 400, 5.5), (file) => {
      file.layout.gapMm = 60;
    }),
    seed: 13,
  },
  'packet-loss': { change: sensor(480, 384, 4.8), seed: 14, options: ['--faults', 'packet-loss=0.02'] },
  'packet-loss-for-good': {
    change: sensor(480, 384, 4.8),
    seed: 15,
    options: ['--faults', 'packet-loss=0.004', 'no-resend'],
  },
  'must-initialise': {
    from: 'vial-stopper',
    change: sensor(512, 384, 3.45),
    seed: 16,
    options: ['--initialise-first'],
  },
  'silent-motion': { change: sensor(480, 384, 4.8), seed: 17, options: ['--silent-motion'] },
  'slow-lens': { change: sensor(480, 384, 4.8), seed: 18, options: ['--faults', 'slow-settling=4'] },
  'low-light': {
    change: all(sensor(480, 384, 4.8), (file) => {
      file.parts.light.sensorIrradianceUwPerCm2! /= 30;
    }),
    seed: 19,
  },
  'bright-light': { change: sensor(480, 384, 4.8), seed: 20, options: ['--faults', 'saturated-light=8'] },
  'two-planes': { change: sensor(512, 384, 4.8), seed: 21, options: ['--second-plane', '120'] },
  'no-texture': { change: sensor(480, 384, 4.8), seed: 22, options: ['--scene', 'plain'] },
  'out-of-range': {
    // The target stands nearer than the lens can focus.
    change: all(sensor(480, 384, 4.8), (file) => {
      Object.assign(file.task, { nearMm: 160, farMm: 170 });
    }),
    seed: 23,
  },
  pins: { from: 'relay-pins', change: sensor(640, 480, 3.45), seed: 24 },
} as const satisfies Record<string, ServeOrder>;

export type RigName = keyof typeof rigCameras;

/** Starts some cameras of the rig, or all, one after the other, so that a small machine keeps up. */
export async function startRig<N extends RigName = RigName>(
  names: readonly N[] = Object.keys(rigCameras) as N[],
): Promise<{ cameras: Record<N, ServedStation>; close(): Promise<void> }> {
  const cameras = {} as Record<N, ServedStation>;
  const close = async () => {
    await Promise.all(Object.values<ServedStation>(cameras).map((camera) => camera.close()));
  };
  try {
    for (const name of names) cameras[name] = await serveStation(rigCameras[name]);
  } catch (error) {
    await close();
    throw error;
  }
  return { cameras, close };
}
