// The kernels of a stack, in one module.
export { bandLevel, firstBand } from './bands';
export { explain } from './peaks';
export { scaleMap, smoothMap } from './windows';
export { fuseRows, pixelPowers, settle, tileRange } from './fusion';

/** First free byte: the caller lays out memory from here on. */
export function freeFrom(): usize {
  return __heap_base;
}
