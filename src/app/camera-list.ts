import {
  type CameraInspection,
  inspectGenicamCamera,
  listGenicamCameras,
  type ReachableCamera,
} from '../drivers/index.js';

export type { CameraInspection, ReachableCamera };

/** Cameras that answer now. Throws `device-library-missing`. */
export const listCameras = (): Promise<ReachableCamera[]> => listGenicamCameras();

/** What a camera tells of itself; its lens is not moved. Takes `genicam:CAMERA` or CAMERA. */
export const inspectCamera = (address: string): Promise<CameraInspection> =>
  inspectGenicamCamera(address.replace(/^genicam:/, ''));
