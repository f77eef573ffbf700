import type { PixelFormat } from './gvsp.js';

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
  /** true: the lens controller takes no power before OpticControllerInitialize. */
  mustInitialise: boolean;
}
