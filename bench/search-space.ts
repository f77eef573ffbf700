import { loadParts, loadSearchTask } from '../src/app/index.js';
import { type SearchSpace, searchSpaceOf } from '../src/planning/index.js';
import type { PartsLibrary } from '../src/station/index.js';

/** Of a list of parts, every `step`-th. */
const every = <T>(list: readonly T[], step: number): T[] => list.filter((_, i) => i % step === 0);

/** Each part twice: as it is, and with a length or an aperture a few per cent larger. */
function doubled<T extends { name: string }>(list: readonly T[], larger: (part: T) => T): T[] {
  return list.flatMap((part) => [part, { ...larger(part), name: `${part.name}, larger` }]);
}

/** The pottery line's task before libraries of about 10^5 to 10^8 combinations. */
export async function spacesToMeasure(): Promise<Record<string, SearchSpace>> {
  const task = await loadSearchTask('glaze-line');
  const shipped = await loadParts();
  const space = (parts: PartsLibrary, ringCount: number) => searchSpaceOf({ task, parts, ringCount });
  const thinned = (step: number): PartsLibrary => ({
    ...shipped,
    sensors: every(shipped.sensors, step),
    fixedLenses: every(shipped.fixedLenses, step),
    tunableLenses: every(shipped.tunableLenses, step),
  });
  const wide: PartsLibrary = {
    ...shipped,
    sensors: doubled(shipped.sensors, (part) => ({ ...part, pixelPitchUm: part.pixelPitchUm * 1.04 })),
    fixedLenses: doubled(shipped.fixedLenses, ({ groups: _, ...part }) => ({
      ...part,
      focalLengthMm: part.focalLengthMm * 1.05,
    })),
  };
  return {
    '10^5, parts': space({ ...thinned(4), spacers: every(shipped.spacers, 2) }, 6),
    '10^6, parts': space(thinned(3), 12),
    '10^7, parts': space({ ...shipped, tunableLenses: every(shipped.tunableLenses, 2) }, 10),
    '10^8, parts': space(wide, 12),
    '10^8, ring distances': space(shipped, 51),
  };
}
