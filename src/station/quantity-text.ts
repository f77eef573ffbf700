/** Units that people write behind a number, as factor to the unit a key is in, by that unit. */
const factors: Record<string, Record<string, number>> = {
  mm: { mm: 1, cm: 10, dm: 100, m: 1000, µm: 1e-3, um: 1e-3, in: 25.4, inch: 25.4 },
  µm: { µm: 1, um: 1, nm: 1e-3, mm: 1000 },
  nm: { nm: 1, µm: 1000, um: 1000 },
  ms: { ms: 1, s: 1000, µs: 1e-3, us: 1e-3 },
  dpt: { dpt: 1, D: 1, 'm^-1': 1 },
  Hz: { Hz: 1, kHz: 1000, fps: 1 },
  '°C': { '°C': 1, C: 1 },
  'mm/s': { 'mm/s': 1, 'cm/s': 10, 'm/s': 1000, 'm/min': 1000 / 60 },
  px: { px: 1 },
};

/**
 * The number that a text stands for in the unit of a key: "34 cm" is 340 for a key in mm, "0,6" is 0.6. `null` where
 * the text is not a number, or its unit does not fit. For advice in messages: station files hold numbers, not such texts.
 */
export function numberInText(text: string, unit: string): number | null {
  const match = /^\s*([+−-]?\d+(?:[.,_]\d+)?(?:e[+-]?\d+)?)\s*([^\d\s]\S*)?\s*$/i.exec(text);
  if (!match) return null;
  const value = Number(match[1]!.replace('−', '-').replace(',', '.').replace('_', ''));
  const written = match[2];
  if (written === '%' && unit === '') return rounded(value / 100);
  const factor = written === undefined ? 1 : factors[unit]?.[written];
  return factor === undefined ? null : rounded(value * factor);
}

const rounded = (value: number) => Number(value.toPrecision(12));
