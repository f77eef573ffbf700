/**
 * Colours for a quantity over an area: from dark blue over grey to yellow, evenly lighter. Readers with any colour vision,
 * and prints in grey, see the same order.
 *
 * Source   cividis: Nuñez, Anderton & Renslow, PLoS ONE 13, e0199239 (2018); ten of its colours, from memory
 */
const anchors = [
  '00204d',
  '00336f',
  '39486b',
  '575d6d',
  '707173',
  '8a8779',
  'a69d75',
  'c4b56c',
  'e4cf5b',
  'ffea46',
].map((hex) => [0, 2, 4].map((at) => Number.parseInt(hex.slice(at, at + 2), 16)));

/** The colour at a share 0 … 1 of the scale, as `#rrggbb`. */
export function areaColour(share: number): string {
  const place = Math.min(1, Math.max(0, share)) * (anchors.length - 1);
  const at = Math.min(Math.floor(place), anchors.length - 2);
  const mix = anchors[at]!.map((low, i) => Math.round(low + (place - at) * (anchors[at + 1]![i]! - low)));
  return `#${mix.map((value) => value.toString(16).padStart(2, '0')).join('')}`;
}
