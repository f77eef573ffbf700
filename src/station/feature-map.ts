import { z } from 'zod';
import { group } from './quantities.js';

const featureName = z
  .string()
  .regex(/^[A-Za-z_][A-Za-z0-9_]{0,127}$/)
  .meta({
    description: 'name of the feature, as `focuswright inspect` lists it',
    inWords: 'a name of letters, digits and _, at most 128',
  });
const boundFeature = featureName
  .optional()
  .meta({ description: 'feature that tells the bound; default: the feature’s own' });

/** What the features are called in a camera that does not keep to the standard's names, and how their numbers are meant. */
export const featureMap = group(
  'features of the lens in a camera that calls them otherwise than the GenICam standard (SFNC Optic Control) does',
  {
    power: group('focal power', {
      feature: featureName,
      perUnitDpt: z.number().min(-1000).max(1000).default(1).meta({
        unit: 'dpt',
        description: 'focal power that one unit of the feature stands for, e.g. 0.001 for milli-dioptres',
      }),
      atZeroDpt: z
        .number()
        .min(-50)
        .max(50)
        .default(0)
        .meta({ unit: 'dpt', description: 'focal power at the feature’s 0' }),
      minFeature: boundFeature,
      maxFeature: boundFeature,
    }).optional(),
    current: group('lens current', {
      feature: featureName,
      perUnitMa: z
        .number()
        .min(-100_000)
        .max(100_000)
        .default(1)
        .meta({ unit: 'mA', description: 'current that one unit of the feature stands for' }),
      minFeature: boundFeature,
      maxFeature: boundFeature,
      perMaDpt: z.number().min(-10).max(10).optional().meta({
        unit: 'dpt',
        description: 'change of focal power with 1 mA: lets a lens be driven by power that takes current only',
      }),
      withoutCurrentDpt: z
        .number()
        .min(-50)
        .max(50)
        .default(0)
        .meta({ unit: 'dpt', description: 'focal power without current' }),
    }).optional(),
    temperature: group('temperature of the lens', {
      feature: featureName,
      perUnitDegC: z
        .number()
        .min(-1000)
        .max(1000)
        .default(1)
        .meta({ unit: '°C', description: 'temperature difference that one unit of the feature stands for' }),
      atZeroDegC: z
        .number()
        .min(-1000)
        .max(1000)
        .default(0)
        .meta({ unit: '°C', description: 'temperature at the feature’s 0' }),
    }).optional(),
    serialNumber: featureName.optional().meta({ description: 'feature with the serial number of the lens' }),
    enable: z
      .array(
        z
          .string()
          .regex(/^[A-Za-z_][A-Za-z0-9_]{0,127}(=.{1,100})?$/)
          .meta({ inWords: 'a command’s name, or NAME=VALUE' }),
      )
      .max(20)
      .default([])
      .meta({ description: 'what makes the lens ready, in order, before its first command' }),
    packetBytes: z
      .int()
      .min(576)
      .max(16_000)
      .optional()
      .meta({ unit: 'byte', description: 'size of the network packets; default: the largest that arrives in a test' }),
  },
);

/** How a camera calls the features of its lens. */
export type FeatureMap = z.output<typeof featureMap>;
