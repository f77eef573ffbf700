import type { FocusRefusalReason } from '../../station/index.js';

/** What to do about each refusal, where the search knows nothing better. */
export const focusRemedies: Record<FocusRefusalReason, string> = {
  'no-texture': 'Put the region where there is fine structure: print, an edge, a scratch; or put a target there.',
  'too-dark': 'Lengthen the exposure or add light; check that the lens cap is off and the light is on.',
  saturated: 'Shorten the exposure or dim the light until the brightest parts stay below saturation.',
  'two-planes': 'Choose a smaller region that lies on one surface only.',
  'out-of-range':
    'Widen --range if it was narrowed; else bring the distance into the lens’s reach: turn the focus ring, change the spacer, or move the part.',
  'unstable-scene': 'Keep part, camera and light still; drive the light with direct current against flicker.',
  device: 'Check that lens and camera are connected, the lens driver is enabled, and the camera follows its settings.',
};
