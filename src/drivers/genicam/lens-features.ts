import type { FeatureMap } from '../../station/index.js';
import type { Feature, Features } from './features.js';

/** A number of the lens: which feature it is, and its value = atZero + perUnit · feature. */
export interface LensQuantity {
  feature: string;
  /** Value that one unit of the feature stands for, and at the feature's 0; in dpt, mA or °C. */
  slope: number;
  offset: number;
  min: number | null;
  max: number | null;
  increment: number | null;
}

/** How this camera's lens is spoken to. */
export interface LensFeatures {
  power: LensQuantity | null;
  current: LensQuantity | null;
  temperature: LensQuantity | null;
  /** Power that is had by way of the current. */
  powerByCurrent: { perMaDpt: number; withoutCurrentDpt: number } | null;
  serialNumber: string | null;
  model: string | null;
  /** Status enumerations that are there, by the standard's states. */
  status: readonly string[];
}

/** Names of the standard (SFNC 2.7, Optic Control). */
const standard = {
  power: 'FocalPower',
  temperature: 'OpticControllerTemperature',
  serialNumber: 'OpticControllerSerialNumber',
  model: 'OpticControllerModelName',
  status: ['OpticControllerStatus', 'FocusStatus'],
} as const;

/**
 * Finds the features of the lens: those of the station's feature map, else the standard's.
 *
 * Returns  null quantities where a feature is missing. Limits come from the feature itself or from the map's own features.
 * Throws   `feature-missing` for a feature that the map names and the camera lacks, or whatever the link throws.
 */
export async function findLensFeatures(features: Features, map?: FeatureMap): Promise<LensFeatures> {
  const optional = async (name: string) => ((await features.has(name)) ? name : null);
  const power = map?.power
    ? await quantity(features, {
        ...map.power,
        slope: map.power.perUnitDpt,
        offset: map.power.atZeroDpt,
      })
    : map?.current
      ? null
      : await standardQuantity(features, standard.power);
  const current = map?.current
    ? await quantity(features, { ...map.current, slope: map.current.perUnitMa, offset: 0 })
    : null;
  const temperature = map?.temperature
    ? await quantity(features, {
        ...map.temperature,
        slope: map.temperature.perUnitDegC,
        offset: map.temperature.atZeroDegC,
      })
    : await standardQuantity(features, standard.temperature);
  const status = [];
  for (const name of standard.status) if (await features.has(name)) status.push(name);
  return {
    power,
    current,
    temperature,
    powerByCurrent:
      !power && map?.current?.perMaDpt
        ? { perMaDpt: map.current.perMaDpt, withoutCurrentDpt: map.current.withoutCurrentDpt }
        : null,
    serialNumber: map?.serialNumber ?? (await optional(standard.serialNumber)),
    model: await optional(standard.model),
    status,
  };
}

async function standardQuantity(features: Features, name: string): Promise<LensQuantity | null> {
  const described = await features.describe(name);
  if (
    !described ||
    described.access === 'none' ||
    described.access === 'write' ||
    !['float', 'integer'].includes(described.kind)
  )
    return null;
  return { feature: name, slope: 1, offset: 0, ...boundsOf(described) };
}

async function quantity(
  features: Features,
  wanted: { feature: string; slope: number; offset: number; minFeature?: string; maxFeature?: string },
): Promise<LensQuantity> {
  const { feature, slope, offset } = wanted;
  await features.readNumber(feature);
  const described = await features.describe(feature);
  const own = described ? boundsOf(described) : { min: null, max: null, increment: null };
  const bound = async (name: string | undefined, fallback: number | null) =>
    name === undefined ? fallback : features.readNumber(name);
  const inDevice = {
    min: await bound(wanted.minFeature, own.min),
    max: await bound(wanted.maxFeature, own.max),
  };
  const [min, max] = slope < 0 ? [inDevice.max, inDevice.min] : [inDevice.min, inDevice.max];
  const scaled = (value: number | null) => (value === null ? null : offset + slope * value);
  const step = own.increment ?? (described?.kind === 'integer' ? 1 : null);
  return {
    feature,
    slope,
    offset,
    min: scaled(min),
    max: scaled(max),
    increment: step === null ? null : Math.abs(slope) * step,
  };
}

const boundsOf = ({ min, max, increment, kind }: Feature) => ({
  min,
  max,
  increment: increment ?? (kind === 'integer' ? 1 : null),
});
