import type { Scene } from './canvas.js';

/** Reflectance of a matt card. */
const cardReflectance = 0.55;

/** A card without texture, on which nothing can be focused: for rehearsing an honest refusal. */
export const plain: Scene = {
  name: 'plain',
  paint: (canvas) => {
    canvas.reflectance.fill(cardReflectance);
  },
};
