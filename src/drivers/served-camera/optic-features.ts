import type { Feature } from './features.js';
import { choice, command, knownText, readNumber, setNumber } from './make-feature.js';
import { type LensCurrent, lensCurrentMa, type ServedCameraData } from './served-camera-data.js';

/** States of an SFNC controller. */
export const controllerStates = {
  NotConnected: 0,
  NotInitialized: 1,
  NotSupported: 2,
  Busy: 3,
  Ready: 4,
  Error: 5,
} as const;

const category = 'OpticControl';
const locked = { visibility: 'Beginner', lockedBy: 'OpticsLocked' } as const;

/** The lens and its controller. */
export function opticFeatures(data: ServedCameraData): Feature[] {
  const { vendorName, lensModelName, serialNumber, mustInitialise } = data;
  const text = (name: string, value: string, help: string) => knownText(category, name, value, help);
  const state = (name: string) =>
    choice(category, name, [], {
      help: 'State; Busy is passing, and Ready is no proof of optical settling.',
      access: 'RO',
      entries: controllerStates,
      start: mustInitialise ? 'NotInitialized' : 'Ready',
    });
  return [
    choice(category, 'OpticControllerSelector', ['OpticController0'], {
      help: 'Which lens controller is set.',
      selects: ['OpticControllerStatus', 'OpticControllerTemperature', 'FocusStatus'].concat(
        data.lensCurrent ? ['LensCurrent'] : ['FocusStepper', 'FocalPower'],
      ),
    }),
    command(category, 'OpticControllerInitialize', 'Makes the lens controller ready.'),
    state('OpticControllerStatus'),
    text('OpticControllerVendorName', vendorName, 'Manufacturer of the lens controller.'),
    text('OpticControllerModelName', lensModelName, 'Model of the lens.'),
    text('OpticControllerSerialNumber', `${serialNumber}-L`, 'Serial number of the lens.'),
    readNumber(category, 'OpticControllerTemperature', {
      kind: 'float',
      help: 'Temperature of the lens as its controller reads it.',
      min: -60,
      max: 200,
      unit: 'C',
      start: 20,
    }),
    command(category, 'FocusInitialize', 'Makes the focus ready, where that is needed after the controller.'),
    state('FocusStatus'),
    ...(data.hasFocusAuto
      ? [
          choice(category, 'FocusAuto', ['Off', 'Once', 'Continuous'], {
            help: 'Autofocus of the camera itself: while it is on, nobody else moves the lens. (Simulated: it moves nothing.)',
            start: 'Continuous',
          }),
        ]
      : []),
    ...(data.lensCurrent ? currentFeatures(data, data.lensCurrent) : powerFeatures(data)),
    readNumber(category, 'OpticsLocked', {
      kind: 'integer',
      help: '1 while the lens takes no power.',
      min: 0,
      max: 1,
      start: mustInitialise || data.hasFocusAuto ? 1 : 0,
      visibility: 'Invisible',
    }),
  ];
}

function powerFeatures({ powerMinDpt, powerMaxDpt, powerDpt, stepDpt }: ServedCameraData): Feature[] {
  return [
    setNumber(category, 'FocusStepper', {
      ...locked,
      kind: 'integer',
      help: 'Focus in raw steps; 0 is the closest focus.',
      min: 0,
      max: Math.round((powerMaxDpt - powerMinDpt) / stepDpt),
      start: Math.round((powerMaxDpt - powerDpt) / stepDpt),
      visibility: 'Expert',
    }),
    setNumber(category, 'FocalPower', {
      ...locked,
      kind: 'float',
      help: 'Focal power of the tunable lens.',
      min: powerMinDpt,
      max: powerMaxDpt,
      increment: stepDpt,
      unit: 'dpt',
      start: powerDpt,
    }),
  ];
}

/** Names of our own: the standard has none for a current. */
function currentFeatures(
  { powerMinDpt, powerMaxDpt, powerDpt, stepDpt }: ServedCameraData,
  lens: LensCurrent,
): Feature[] {
  return [
    setNumber(category, 'LensCurrent', {
      ...locked,
      kind: 'float',
      help: 'Current through the tunable lens.',
      min: lensCurrentMa(powerMinDpt, lens),
      max: lensCurrentMa(powerMaxDpt, lens),
      increment: stepDpt / lens.perMaDpt,
      unit: 'mA',
      start: lensCurrentMa(powerDpt, lens),
    }),
  ];
}
