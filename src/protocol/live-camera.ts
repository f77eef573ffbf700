import { z } from 'zod';

/** A camera that can be opened. */
export const reachableCamera = z.object({ address: z.string(), title: z.string() });

/** What can be opened now, and why no more. */
export const camerasAnswer = z.object({ cameras: z.array(reachableCamera), trouble: z.string().nullable() });

/** Opens a camera, with the limits of the station in the page. */
export const openCameraRequest = z.strictObject({
  address: z.string().min(1).max(200),
  yaml: z.string().min(1).max(200_000),
});

/** The camera that is open, as it stands now. */
export const openedCamera = z.object({
  address: z.string(),
  id: z.string(),
  simulated: z.boolean(),
  model: z.string(),
  lensModel: z.string(),
  serialNumber: z.string().nullable(),
  widthPx: z.number(),
  heightPx: z.number(),
  hasLens: z.boolean(),
  powerMinDpt: z.number(),
  powerMaxDpt: z.number(),
  exposureMinMs: z.number(),
  exposureMaxMs: z.number(),
  temperatureMaxDegC: z.number(),
});

/** What the person may change while looking. */
export const liveCommand = z.strictObject({
  focalPowerDpt: z.number().optional(),
  exposureMs: z.number().positive().optional(),
});

/** What was really commanded. */
export const liveCommanded = z.object({ focalPowerDpt: z.number().nullable(), exposureMs: z.number().nullable() });

/** What a live picture shows; it goes before the picture's bytes. */
export interface LiveFrame {
  frameId: number;
  focalPowerDpt: number;
  temperatureDegC: number | null;
  exposureMs: number | null;
  /** Focus measure of the middle half, and the share of its pixels at full scale. */
  measureName: string;
  measure: number;
  saturatedRatio: number;
  widthPx: number;
  heightPx: number;
}

/** What the live feed says when there is no picture. */
export interface LiveTrouble {
  message: string;
  remedy: string;
}

export type CamerasAnswer = z.infer<typeof camerasAnswer>;
export type OpenCameraRequest = z.infer<typeof openCameraRequest>;
export type OpenedCamera = z.infer<typeof openedCamera>;
export type LiveCommand = z.infer<typeof liveCommand>;
export type LiveCommanded = z.infer<typeof liveCommanded>;
