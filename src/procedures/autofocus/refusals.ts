/** Why autofocus said no. */
export type AutofocusRefusal =
  | 'saturated'
  | 'too-dark'
  | 'no-texture'
  | 'no-response'
  | 'out-of-range'
  | 'multiple-peaks'
  | 'unstable-scene'
  | 'lens-repeatability'
  | 'too-few-powers'
  | 'interrupted';

/** An honest no, with what to do. */
export interface Refusal {
  kind: 'refused';
  reason: AutofocusRefusal;
  message: string;
  remedy: string;
}

const remedies: Record<AutofocusRefusal, string> = {
  saturated: 'Shorten the exposure or dim the light until the brightest parts stay below saturation.',
  'too-dark': 'Lengthen the exposure or add light; check that the lens cap is off and the light is on.',
  'no-texture': 'Put a target with fine structure (print, gravel, a slanted edge) into the middle of the field.',
  'no-response':
    'Check that the lens is connected and its driver enabled; or open the aperture, if the depth of field is wider than the lens’s range.',
  'out-of-range':
    'Bring the distance into the lens’s reach: turn the focus ring, change the spacer, or move the target.',
  'multiple-peaks': 'Keep surfaces at one distance only in the middle of the field, or measure a smaller region.',
  'unstable-scene':
    'Keep target, camera and light still during the sweep; drive the light with direct current against flicker.',
  'lens-repeatability':
    'Stop the lens down for more depth of field, or take a tunable lens that comes back to its power more closely; check the repeatability in the station file.',
  'too-few-powers': 'Record at least five focal powers around best focus at this distance.',
  interrupted: 'Start again when ready; what was measured until then is kept.',
};

/** Builds a refusal with its standing remedy. */
export function refuse(reason: AutofocusRefusal, message: string): Refusal {
  return { kind: 'refused', reason, message, remedy: remedies[reason] };
}
