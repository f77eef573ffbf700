// The kernels of the simulated camera, in one module so that the image stays in one memory.
export { transform } from './fourier';
export { analyseScene, blurColumns, blurRows } from './blur';
export { expose } from './exposure';

/** First free byte: the caller lays out memory from here on. */
export function freeFrom(): usize {
  return __heap_base;
}
