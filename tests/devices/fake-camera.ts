import {
  type CameraCapabilities,
  completeCamera,
  type FocusCamera,
  type Frame,
  plainCapabilities,
} from '../../src/devices/index.js';

/** A camera that notes what reaches it and shows a flat grey frame. */
export function fakeCamera(
  changed: Partial<CameraCapabilities> = {},
): FocusCamera & { commands: number[]; parked: number } {
  const commands: number[] = [];
  let nowMs = 0;
  const camera = {
    id: 'sim:fake',
    simulated: true,
    commands,
    parked: 0,
    clock: {
      nowMs: () => nowMs,
      sleep: async (durationMs: number) => {
        nowMs += durationMs;
      },
    },
    identify: async () => ({ id: 'sim:fake', model: 'fake', lensModel: 'fake' }),
    capabilities: async (): Promise<CameraCapabilities> => ({
      ...plainCapabilities,
      sensorWidthPx: 8,
      sensorHeightPx: 8,
      widthPx: 8,
      heightPx: 8,
      bitDepth: 8,
      powerMinDpt: -2,
      powerMaxDpt: 3,
      exposureMinMs: 0.01,
      exposureMaxMs: 100,
      frameRateHz: 100,
      hasTemperature: false,
      ...changed,
    }),
    setFocalPower: async ({ focalPowerDpt }: { focalPowerDpt: number }) => {
      commands.push(focalPowerDpt);
      return focalPowerDpt;
    },
    setExposure: async ({ exposureMs }: { exposureMs: number }) => exposureMs,
    lensStatus: async () => ({
      focalPowerDpt: commands.at(-1) ?? 0,
      currentMa: null,
      temperatureDegC: null,
      state: 'ready' as const,
    }),
    grab: async (): Promise<Frame> => ({
      image: { widthPx: 8, heightPx: 8, bitDepth: 8, data: new Uint8Array(64).fill(100) },
      frameId: 1,
      focalPowerDpt: commands.at(-1) ?? 0,
      exposureMs: 1,
      temperatureDegC: null,
      exposedAtMs: nowMs,
      arrivedAtMs: nowMs,
      source: 'sim:fake',
      fileName: null,
    }),
    park: async () => {
      camera.parked++;
    },
    close: async () => {},
  };
  return Object.assign(camera, completeCamera(camera));
}
