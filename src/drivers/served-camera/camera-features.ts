import { acquisitionFeatures } from './acquisition-features.js';
import type { Feature } from './features.js';
import { imageFeatures } from './image-features.js';
import { choice, knownNumber, knownText, setNumber } from './make-feature.js';
import { opticFeatures } from './optic-features.js';
import type { ServedCameraData } from './served-camera-data.js';
import { simulationFeatures } from './simulation-features.js';
import { transportFeatures } from './transport-features.js';

/** Digital gain is offered up to here. */
const gainMaxDb = 24;

/**
 * The features of a served camera, after the standard feature names.
 *
 * Source   GenICam SFNC 2.7.1: names, units and meaning of all features outside `SimulationControl`
 */
export function cameraFeatures(data: ServedCameraData): Feature[] {
  return [
    ...deviceFeatures(data),
    ...imageFeatures(data),
    ...acquisitionFeatures(data),
    choice('AnalogControl', 'GainSelector', ['DigitalAll'], { help: 'Which gain is set.', selects: ['Gain'] }),
    setNumber('AnalogControl', 'Gain', {
      kind: 'float',
      help: 'Gain of the grey values above the black level, applied after the converter.',
      min: 0,
      max: gainMaxDb,
      unit: 'dB',
      start: 0,
    }),
    ...opticFeatures(data),
    ...transportFeatures,
    ...simulationFeatures(data),
  ];
}

function deviceFeatures({ vendorName, modelName, deviceVersion, serialNumber }: ServedCameraData): Feature[] {
  const text = (name: string, value: string, help: string) => knownText('DeviceControl', name, value, help);
  const names = 'Version of the standard feature names.';
  return [
    text('DeviceVendorName', vendorName, 'Name of the manufacturer.'),
    text('DeviceModelName', modelName, 'Model of the camera.'),
    text('DeviceManufacturerInfo', 'simulated: no real camera, no real lens', 'What the manufacturer adds.'),
    text('DeviceVersion', deviceVersion, 'Version of the camera.'),
    text('DeviceSerialNumber', serialNumber, 'Serial number of the camera.'),
    knownNumber('DeviceControl', 'DeviceSFNCVersionMajor', 2, { help: names }),
    knownNumber('DeviceControl', 'DeviceSFNCVersionMinor', 7, { help: names }),
    knownNumber('DeviceControl', 'DeviceSFNCVersionSubMinor', 1, { help: names }),
  ];
}
