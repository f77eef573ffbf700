import { Worker } from 'node:worker_threads';
import {
  cameraFeatures,
  type controllerStates,
  type FeatureValue,
  gvcpStatus,
  lensCurrentMa,
  type OutOfRange,
  type PixelFormat,
  type ServedCamera,
  serveCamera,
  WriteRefused,
} from '../../drivers/index.js';
import type { Station } from '../../station/index.js';
import type { AcquisitionSettings, FromThread, ServedScene, ThreadOrder, ToThread } from './messages.js';
import { roundedPower, servedData } from './served-data.js';
import { readServedFaults } from './wire-faults.js';

/** How a simulated station is served. */
export interface ServeTwinRequest {
  station: Station;
  /** Address of this machine to serve at. */
  host: string;
  seed: number;
  serialNumber: string;
  /** As `NAME` or `NAME=NUMBER`; see servedFaultNames. */
  faults: readonly string[];
  /** The lens controller takes no power before it is initialised. */
  initialiseFirst: boolean;
  /** By what the lens is driven: FocalPower after the standard, or LensCurrent in mA. */
  lensDrive: 'power' | 'current';
  /** The camera has an autofocus of its own that is on until FocusAuto is Off. */
  focusAuto: boolean;
  /** Its status never says Busy. */
  silentMotion: boolean;
  outOfRange: OutOfRange;
  scene: ServedScene;
  secondPlaneMm: number;
}

/** A served simulated station. */
export interface ServedTwin {
  readonly serialNumber: string;
  readonly modelName: string;
  /** Where its target stands until a client places it elsewhere. */
  readonly targetDistanceMm: number;
  close(): Promise<void>;
}

/** Time that a controller takes to make itself ready; common practice, no source. */
const initialisingMs = 300;
const settingNames = new Set([
  'ExposureTime',
  'Gain',
  'PixelFormat',
  'Width',
  'Height',
  'OffsetX',
  'OffsetY',
  'AcquisitionFrameRate',
  'AcquisitionFrameRateEnable',
  'TriggerMode',
]);

/**
 * Serves the simulated station as a GigE Vision camera, in real time.
 *
 * Model    docs/twin/on-the-wire.md: commands are answered here, frames are rendered and sent by a thread of their own
 * Returns  once any client finds the camera under its serial number.
 * Throws   `gige-port-in-use`, `gige-address-unusable`, `fault-unknown`.
 */
export async function serveTwin(request: ServeTwinRequest): Promise<ServedTwin> {
  const { station, host, silentMotion } = request;
  const faults = readServedFaults(request.faults);
  const startNs = process.hrtime.bigint();
  const nowNs = () => process.hrtime.bigint() - startNs;
  const nowMs = () => Number(nowNs()) / 1e6;
  const data = servedData(request);
  const thread = new Worker(new URL('./station-thread.js', import.meta.url), {
    workerData: {
      station,
      seed: request.seed,
      faults: faults.station,
      scene: request.scene,
      secondPlaneMm: request.secondPlaneMm,
      wireFaults: faults.wire,
      killedAfterCount: faults.killedAfterCount,
      host,
      startNs,
    } satisfies ThreadOrder,
  });
  const tell = (message: ToThread) => thread.postMessage(message);
  let settlingMs = 0;
  let busyUntilMs = 0;
  let isInitialised = !request.initialiseFirst;
  let isFocusing = request.focusAuto;
  let isLensFaulty = false;
  let isLensHot = false;

  const controllerState = (): keyof typeof controllerStates => {
    if (isLensFaulty || isLensHot) return 'Error';
    if (!isInitialised) return nowMs() < busyUntilMs ? 'Busy' : 'NotInitialized';
    return nowMs() < busyUntilMs && !silentMotion ? 'Busy' : 'Ready';
  };

  const number = (name: string) => camera.registers.number(name);
  const settings = (): AcquisitionSettings => ({
    exposureMs: number('ExposureTime') / 1000,
    gainDb: number('Gain'),
    pixelFormat: camera.registers.value('PixelFormat') as PixelFormat,
    xPx: number('OffsetX'),
    yPx: number('OffsetY'),
    widthPx: number('Width'),
    heightPx: number('Height'),
    frameRateHz:
      camera.registers.value('TriggerMode') === 'On'
        ? null
        : number('AcquisitionFrameRateEnable') === 1
          ? number('AcquisitionFrameRate')
          : data.frameRateHz,
  });
  const frameCountMax = () => {
    const mode = camera.registers.value('AcquisitionMode');
    return mode === 'SingleFrame'
      ? 1
      : mode === 'MultiFrame'
        ? number('AcquisitionFrameCount')
        : Number.POSITIVE_INFINITY;
  };

  const lockOptics = () => camera.registers.set('OpticsLocked', isInitialised && !isFocusing ? 0 : 1);

  function setPower(focalPowerDpt: number): void {
    const { registers } = camera;
    registers.set('FocalPowerWriteCount', number('FocalPowerWriteCount') + 1);
    if (data.lensCurrent) registers.set('LensCurrent', lensCurrentMa(focalPowerDpt, data.lensCurrent));
    else {
      registers.set('FocalPower', focalPowerDpt);
      registers.set('FocusStepper', Math.round((data.powerMaxDpt - focalPowerDpt) / data.stepDpt));
    }
    busyUntilMs = nowMs() + settlingMs;
    tell({ type: 'power', atMs: nowMs(), focalPowerDpt });
  }

  function stop(): void {
    camera.registers.set('AcquisitionActive', 0);
    tell({ type: 'stop' });
  }

  function onWrite(name: string, value: FeatureValue): FeatureValue {
    switch (name) {
      case 'FocalPower': {
        const kept = roundedPower(value as number, data);
        setPower(kept);
        return kept;
      }
      case 'FocusStepper':
        setPower(roundedPower(data.powerMaxDpt - (value as number) * data.stepDpt, data));
        return value;
      case 'LensCurrent': {
        const { perMaDpt, withoutCurrentDpt } = data.lensCurrent!;
        const kept = roundedPower(withoutCurrentDpt + perMaDpt * (value as number), data);
        setPower(kept);
        return lensCurrentMa(kept, data.lensCurrent!);
      }
      case 'FocusAuto':
        isFocusing = value !== 'Off';
        lockOptics();
        return value;
      case 'OpticControllerInitialize':
        if (isInitialised) return value;
        busyUntilMs = nowMs() + initialisingMs;
        setTimeout(() => {
          isInitialised = true;
          lockOptics();
        }, initialisingMs).unref();
        return value;
      case 'TargetDistance':
        camera.registers.set('TargetStatus', 'Busy');
        tell({ type: 'target', atMs: nowMs(), workingDistanceMm: value as number });
        return value;
      case 'AcquisitionStart':
        if (camera.streamTarget().port === 0) throw new WriteRefused(gvcpStatus.accessDenied);
        camera.registers.set('AcquisitionActive', 1);
        tell({ type: 'settings', settings: settings() });
        tell({ type: 'start', atMs: nowMs(), target: camera.streamTarget(), frameCountMax: frameCountMax() });
        return value;
      case 'AcquisitionStop':
        stop();
        return value;
      case 'TriggerSoftware':
        tell({ type: 'trigger', atMs: nowMs() });
        return value;
      default:
        // The registers hold the new value only after this call.
        if (settingNames.has(name)) setImmediate(() => tell({ type: 'settings', settings: settings() }));
        return value;
    }
  }

  function onRead(name: string): void {
    if (name === 'OpticControllerStatus' || name === 'FocusStatus') camera.registers.set(name, controllerState());
    if (name === 'OutOfRangeWriteCount') camera.registers.set(name, camera.registers.outOfRangeCount());
    if (name === 'PayloadSize') {
      const { widthPx, heightPx, pixelFormat } = settings();
      camera.registers.set(name, widthPx * heightPx * (pixelFormat === 'Mono8' ? 1 : 2));
    }
  }

  const ready = new Promise<void>((resolve, reject) => {
    thread.once('error', reject);
    thread.on('message', (message: FromThread) => {
      if (message.type === 'ready') {
        settlingMs = message.settlingMs;
        resolve();
      } else heard(message);
    });
  });

  function heard(message: FromThread): void {
    if (!camera) return;
    const { registers } = camera;
    if (message.type === 'lens') {
      isLensFaulty = message.isFaulty;
      isLensHot = message.temperatureDegC > station.parts.tunableLens.temperatureMaxDegC;
      registers.set('OpticControllerTemperature', message.temperatureDegC);
    } else if (message.type === 'target') registers.set('TargetStatus', message.isPlaced ? 'Ready' : 'Error');
    else if (message.type === 'stopped') registers.set('AcquisitionActive', 0);
    else if (message.type === 'trigger-missed') registers.set('TriggerMissedCount', number('TriggerMissedCount') + 1);
    else if (message.type === 'link-lost') camera.unplug();
  }

  let camera: ServedCamera;
  try {
    await ready;
    camera = await serveCamera({
      host,
      features: cameraFeatures(data),
      outOfRange: request.outOfRange,
      resends: !faults.noResend,
      nowNs,
      onWrite,
      onRead,
      onResend: (resend) => tell({ type: 'resend', request: resend }),
      onControlLost: () => {
        if (number('AcquisitionActive') === 1) stop();
      },
    });
  } catch (error) {
    await thread.terminate();
    throw error;
  }
  thread.once('error', (error) => {
    throw error;
  });
  return {
    serialNumber: data.serialNumber,
    modelName: data.modelName,
    targetDistanceMm: data.targetDistanceMm,
    async close() {
      camera.close();
      await thread.terminate();
    },
  };
}
