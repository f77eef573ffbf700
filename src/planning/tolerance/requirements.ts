import type { Requirement } from '../../base/index.js';
import type { Station, TaskPlane } from '../../station/index.js';
import { inWords } from '../words.js';

/** A requirement of the task that built stations are held to. */
export interface BuiltRequirement {
  key: string;
  title: string;
  unit: string;
  required: Requirement;
  /** A distance calibration changes it: it depends on the power that is commanded. */
  calibrated: boolean;
  /** The plane it speaks of, by its place in the list; null for the whole station. */
  planeIndex: number | null;
}

/** The requirements in the order of their values: see builtValues. */
export function builtRequirements(station: Station, planes: readonly TaskPlane[]): BuiltRequirement[] {
  const { task, parts } = station;
  const atLeast = (min: number): Requirement => ({ min, max: null });
  const atMost = (max: number): Requirement => ({ min: null, max });
  const saturationDn = Math.min(
    2 ** parts.sensor.bitDepth - 1,
    parts.sensor.blackLevelDn + parts.sensor.gainDnPerE * parts.sensor.fullWellE,
  );
  const whole = (key: string, title: string, unit: string, required: Requirement): BuiltRequirement => ({
    key,
    title,
    unit,
    required,
    calibrated: false,
    planeIndex: null,
  });
  return [
    whole('reach.near', `Power to spare for ${inWords(task.nearMm, 'mm')}`, 'dpt', atLeast(0)),
    whole('reach.far', `Power to spare for ${inWords(task.farMm, 'mm')}`, 'dpt', atLeast(0)),
    whole('field.width', 'Field width where it is smallest', 'mm', atLeast(task.fieldWidthMm)),
    whole('field.height', 'Field height where it is smallest', 'mm', atLeast(task.fieldHeightMm)),
    whole('sampling.frequency', 'Task frequency on the sensor', 'cycles/px', atMost(0.5)),
    whole('illumination.corner', 'Light in the corner', '', atLeast(task.cornerIlluminationNeeded)),
    whole('light.saturation', 'Grey value of white with its noise', 'DN', atMost(saturationDn)),
    whole('light.signalToNoise', 'Signal-to-noise ratio', '', atLeast(task.signalToNoiseNeeded)),
    whole('motion.blur', 'Motion blur', 'px', atMost(task.blurDiscMaxPx)),
    whole('resolution.corner.mtfAtTask', 'Contrast in the corner, in best focus', '', atLeast(task.contrastNeeded)),
    ...planes.flatMap(({ name, workingDistanceMm }, planeIndex): BuiltRequirement[] => {
      const at = inWords(workingDistanceMm, 'mm');
      const required = atLeast(task.contrastNeeded);
      return [
        {
          ...whole(`resolution.${name}.mtfAtTask`, `Contrast in best focus at ${at}`, '', required),
          planeIndex,
        },
        {
          ...whole(`focus.${name}.budget`, `Contrast as focused at ${at}`, '', required),
          planeIndex,
          calibrated: true,
        },
      ];
    }),
  ];
}

/** True where a value lies inside its requirement; not where there is none. */
export function isMet({ required: { min, max } }: Pick<BuiltRequirement, 'required'>, value: number): boolean {
  return value >= (min ?? Number.NEGATIVE_INFINITY) && value <= (max ?? Number.POSITIVE_INFINITY);
}

/** Values before the first plane's. */
export const wholeCount = 10;
