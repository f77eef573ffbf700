import type { PixelFormat } from './gvsp.js';

/** A lens that is driven by current, for which the standard has no name. */
export interface LensCurrent {
  perMaDpt: number;
  withoutCurrentDpt: number;
}

/** Current for a power; the lens is linear. */
export const lensCurrentMa = (focalPowerDpt: number, { perMaDpt, withoutCurrentDpt }: LensCurrent): number =>
  Number(((focalPowerDpt - withoutCurrentDpt) / perMaDpt).toFixed(9));

/** What a served camera and its lens can do. */
export interface ServedCameraData {
  vendorName: string;
  modelName: string;
  deviceVersion: string;
  serialNumber: string;
  widthPx: number;
  heightPx: number;
  pixelPitchUm: number;
  pixelFormats: readonly PixelFormat[];
  exposureMinUs: number;
  exposureMaxUs: number;
  exposureUs: number;
  frameRateHz: number;
  lensModelName: string;
  powerMinDpt: number;
  powerMaxDpt: number;
  powerDpt: number;
  /** Power of one step of FocusStepper. */
  stepDpt: number;
  targetDistanceMm: number;
  targetDistanceMaxMm: number;
  /** What drives the lens; null: FocalPower, after the standard. */
  lensCurrent: LensCurrent | null;
  /** The camera has an autofocus of its own, and begins with it on. */
  hasFocusAuto: boolean;
  /** true: the lens controller takes no power before OpticControllerInitialize. */
  mustInitialise: boolean;
}
