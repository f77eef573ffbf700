import type { Feature } from './features.js';
import { choice, command, readNumber, setNumber } from './make-feature.js';
import type { ServedCameraData } from './served-camera-data.js';

const category = 'AcquisitionControl';
/** Frame rate at the start, where the camera is fast enough. */
const usualRateHz = 20;

/** How frames are taken. */
export function acquisitionFeatures(data: ServedCameraData): Feature[] {
  const { exposureMinUs, exposureMaxUs, exposureUs, frameRateHz } = data;
  return [
    choice(category, 'AcquisitionMode', ['Continuous', 'SingleFrame', 'MultiFrame'], {
      help: 'How many frames an acquisition has.',
    }),
    command(category, 'AcquisitionStart', 'Starts the acquisition.'),
    command(category, 'AcquisitionStop', 'Stops the acquisition at the end of the frame.'),
    setNumber(category, 'AcquisitionFrameCount', {
      kind: 'integer',
      help: 'Frames of a MultiFrame acquisition.',
      min: 1,
      max: 65535,
      start: 1,
    }),
    {
      kind: 'switch',
      category,
      name: 'AcquisitionFrameRateEnable',
      help: 'On: AcquisitionFrameRate holds; off: as fast as it goes.',
      access: 'RW',
      start: 1,
    },
    setNumber(category, 'AcquisitionFrameRate', {
      kind: 'float',
      help: 'Frames a second without trigger.',
      min: 0.1,
      max: frameRateHz,
      unit: 'Hz',
      start: Math.min(frameRateHz, usualRateHz),
    }),
    choice(category, 'TriggerSelector', ['FrameStart'], {
      help: 'Which trigger is set.',
      selects: ['TriggerMode', 'TriggerSource', 'TriggerActivation', 'TriggerSoftware'],
    }),
    choice(category, 'TriggerMode', ['Off', 'On'], { help: 'On: each frame waits for its trigger.' }),
    choice(category, 'TriggerSource', ['Software'], { help: 'Where triggers come from.' }),
    choice(category, 'TriggerActivation', ['RisingEdge'], {
      help: 'Which edge of a signal triggers; a software trigger has none.',
    }),
    command(category, 'TriggerSoftware', 'Triggers one frame.'),
    choice(category, 'ExposureMode', ['Timed'], { help: 'How the exposure is set.' }),
    setNumber(category, 'ExposureTime', {
      kind: 'float',
      help: 'Exposure time.',
      min: exposureMinUs,
      max: exposureMaxUs,
      unit: 'us',
      start: exposureUs,
    }),
    readNumber(category, 'AcquisitionActive', {
      kind: 'integer',
      help: '1 while an acquisition runs.',
      min: 0,
      max: 1,
      start: 0,
      visibility: 'Invisible',
    }),
  ];
}
