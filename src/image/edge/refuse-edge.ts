import type { EdgeRefusal, EdgeResponse } from './edge-response.js';

const remedies: Record<EdgeRefusal, string> = {
  'region-too-small': 'Choose a larger region along and across the edge.',
  clipped: 'Change exposure or black level so that both sides lie inside the grey range.',
  'no-edge': 'Place the region on one straight edge between a dark and a bright area.',
  'two-edges': 'Choose a region that holds one straight edge only, with plain areas on both sides.',
  'angle-too-small': 'Tilt the target to about 5° against the pixel rows, or take a longer region along the edge.',
  'angle-too-large': 'Tilt the target to about 5° against the pixel rows or columns.',
  'too-noisy': 'Use more light, a longer region along the edge, or the mean of several frames.',
  'too-blurred': 'Choose a region that reaches farther across the edge, or focus better.',
};

/** A refusal with its reason, what was met (numbers and units) and what to do. */
export const refuseEdge = (reason: EdgeRefusal, message: string): EdgeResponse & { kind: 'refused' } => ({
  kind: 'refused',
  reason,
  message,
  remedy: remedies[reason],
});
