import { FocuswrightError } from '../../base/index.js';
import { aravisCalls } from './calls.js';
import type { Feature, Features } from './features.js';
import { openSession } from './session.js';
import { systemClock } from './system-clock.js';

/** What a camera tells of itself, as far as it matters for focus. */
export interface CameraInspection {
  camera: string;
  vendor: string;
  model: string;
  serialNumber: string;
  simulated: boolean;
  /** null: no network. */
  packetBytes: number | null;
  /** Features by category; those that matter for focus first. */
  features: (Feature & { category: string; matters: boolean })[];
  lens: { powerMinDpt: number; powerMaxDpt: number } | null;
  /** What a feature map in the station file would have to say; empty: the standard's names are all there. */
  featureMapNeeds: { key: string; why: string; candidates: string[] }[];
}

const standardNames = [
  'FocalPower',
  'FocusStepper',
  'FocusStatus',
  'FocusAuto',
  'FocusInitialize',
  'OpticControllerSelector',
  'OpticControllerStatus',
  'OpticControllerInitialize',
  'OpticControllerTemperature',
  'OpticControllerSerialNumber',
  'ExposureTime',
  'ExposureTimeAbs',
  'Gain',
  'PixelFormat',
  'Width',
  'Height',
  'TriggerMode',
  'TriggerSource',
  'TriggerSoftware',
  'SequencerMode',
];
/** Words in names and descriptions of features that drive a lens. */
const words = {
  power: /focal.?power|focus.?stepper|dioptr|diopter|\bdpt\b|lens.?power|optical.?power/i,
  current: /(lens|liquid|focus|optic).*current|current.*(lens|focus)/i,
  temperature: /(lens|optic).*temp|temp.*(lens|optic)/i,
  serialNumber: /(lens|optic).*serial/i,
  enable: /(lens|liquid|optic).*(enable|init|power.?on|mode)/i,
};
const lensWord = /lens|liquid|optic|focus|focal|dioptr|diopter/i;

/**
 * Opens a camera, moves nothing, and tells its features.
 *
 * Returns  what it found; with the features whose names or descriptions sound like a lens where the standard's are missing.
 * Throws   as opening does.
 */
export async function inspectGenicamCamera(address: string): Promise<CameraInspection> {
  const calls = await aravisCalls();
  const session = await openSession({ calls, address, clock: systemClock, preparesLens: false });
  try {
    const { features, identity, lens } = session;
    const found: CameraInspection['features'] = [];
    for (const { category, name } of await namesBelow(features, 'Root')) {
      const feature = await features.describe(name).catch(nullUnlessLost);
      if (!feature || feature.kind === 'category') continue;
      const matters = standardNames.includes(name) || lensWord.test(name);
      found.push({ ...feature, category, matters });
    }
    return {
      camera: address || identity.serialNumber,
      ...identity,
      simulated: session.isSimulated,
      packetBytes: session.packetBytes,
      features: [...found.filter(({ matters }) => matters), ...found.filter(({ matters }) => !matters)],
      lens: lens?.power ? { powerMinDpt: lens.power.min, powerMaxDpt: lens.power.max } : null,
      featureMapNeeds: needsOf(found, lens?.power !== undefined && lens.power !== null),
    };
  } finally {
    await session.release();
  }
}

const nullUnlessLost = (error: unknown) => {
  if (error instanceof FocuswrightError && error.code !== 'camera-link-lost') return null;
  throw error;
};

async function namesBelow(
  features: Features,
  category: string,
  seen = new Set<string>(),
): Promise<{ category: string; name: string }[]> {
  const all: { category: string; name: string }[] = [];
  for (const name of await features.members(category)) {
    if (seen.has(name)) continue;
    seen.add(name);
    const below = await namesBelow(features, name, seen);
    all.push(...(below.length > 0 ? below : [{ category, name }]));
  }
  return all;
}

function needsOf(found: CameraInspection['features'], hasPower: boolean): CameraInspection['featureMapNeeds'] {
  const like = (pattern: RegExp, kinds: readonly string[]) =>
    found
      .filter(({ name, description, unit, kind }) => {
        const isLike = pattern.test(name) || pattern.test(description ?? '') || pattern.test(unit ?? '');
        return kinds.includes(kind) && isLike;
      })
      .map(({ name }) => name);
  const numbers = ['float', 'integer'];
  const has = (name: string) => found.some((feature) => feature.name === name && feature.access !== 'none');
  const needs: CameraInspection['featureMapNeeds'] = [];
  if (!hasPower) {
    const power = found.find(({ name }) => name === 'FocalPower');
    needs.push({
      key: 'controls.featureMap.power, or .current',
      why: power ? 'FocalPower is there, but tells no limits or cannot be written now' : 'the camera has no FocalPower',
      candidates: [...new Set([...like(words.power, numbers), ...like(words.current, numbers)])],
    });
    needs.push({
      key: 'controls.featureMap.enable',
      why: 'a lens driver may have to be switched on first',
      candidates: like(words.enable, ['command', 'boolean', 'enumeration']),
    });
  }
  if (!has('OpticControllerTemperature')) {
    needs.push({
      key: 'controls.featureMap.temperature',
      why: 'the camera has no OpticControllerTemperature: without it the lens is not watched by temperature',
      candidates: like(words.temperature, numbers),
    });
  }
  if (!has('OpticControllerSerialNumber')) {
    needs.push({
      key: 'controls.featureMap.serialNumber',
      why: 'the camera has no OpticControllerSerialNumber',
      candidates: like(words.serialNumber, ['string', 'integer']),
    });
  }
  return needs;
}
