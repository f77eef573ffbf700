import type { Station } from '../../station/index.js';
import type { Scene } from './canvas.js';
import type { FieldOfScene } from './chart.js';
import { glazedWare } from './glazed-ware.js';
import { pinField } from './pin-field.js';
import { stopper } from './stopper.js';

/** The scenes that a station file can name. */
export const scenes: Record<Station['rehearsal']['scene'], (field: FieldOfScene, seed: number) => Scene> = {
  'glazed-ware': glazedWare,
  stopper,
  'pin-field': pinField,
};

export type { Canvas, Scene } from './canvas.js';
export type { FieldOfScene } from './chart.js';
export { sceneFromImage } from './scene-from-image.js';
