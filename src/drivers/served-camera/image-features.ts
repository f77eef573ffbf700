import type { Feature, NumberFeature } from './features.js';
import { pixelFormatCodes } from './gvsp.js';
import { knownNumber } from './make-feature.js';
import type { ServedCameraData } from './served-camera-data.js';

/** Widths are a multiple of this, so that the rows of a frame stay aligned. */
const widthStepPx = 4;
const smallestPx = 16;
const category = 'ImageFormatControl';

/** Sensor, region and format of the pixels. */
export function imageFeatures({ widthPx, heightPx, pixelPitchUm, pixelFormats }: ServedCameraData): Feature[] {
  const columns = { max: widthPx, increment: widthStepPx };
  const rows = { max: heightPx, increment: 1 };
  const pitch = { kind: 'float', help: 'Pitch of the pixels.', unit: 'um' } as const;
  return [
    knownNumber(category, 'SensorWidth', widthPx, { help: 'Columns of the sensor.' }),
    knownNumber(category, 'SensorHeight', heightPx, { help: 'Rows of the sensor.' }),
    knownNumber(category, 'SensorPixelWidth', pixelPitchUm, pitch),
    knownNumber(category, 'SensorPixelHeight', pixelPitchUm, pitch),
    knownNumber(category, 'WidthMax', widthPx, { help: 'Widest region.' }),
    knownNumber(category, 'HeightMax', heightPx, { help: 'Highest region.' }),
    ofRegion('Width', { ...columns, min: smallestPx, start: widthPx, maxLess: ['SensorWidth', 'OffsetX'] }),
    ofRegion('Height', { ...rows, min: smallestPx, start: heightPx, maxLess: ['SensorHeight', 'OffsetY'] }),
    ofRegion('OffsetX', { ...columns, min: 0, start: 0, maxLess: ['SensorWidth', 'Width'] }),
    ofRegion('OffsetY', { ...rows, min: 0, start: 0, maxLess: ['SensorHeight', 'Height'] }),
    {
      kind: 'enumeration',
      category,
      name: 'PixelFormat',
      help: 'Format of the pixels.',
      access: 'RW',
      entries: Object.fromEntries(pixelFormats.map((format) => [format, pixelFormatCodes[format]])),
      start: pixelFormats[0]!,
      lockedBy: 'AcquisitionActive',
    },
  ];
}

const ofRegion = (name: string, numbers: Omit<NumberFeature, 'kind' | 'access'>): Feature => ({
  kind: 'integer',
  category,
  name,
  help: 'Region of the sensor that is read.',
  access: 'RW',
  lockedBy: 'AcquisitionActive',
  ...numbers,
});
