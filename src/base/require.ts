/**
 * Checks of arguments. Each returns the value, or throws a RangeError that names the argument, what came, what is
 * allowed and the unit. They stand at the head of every public function, so that no NaN travels on.
 */

/** Inclusive or exclusive bounds of an argument, and its unit for the message. */
export interface Bounds {
  /** Smallest allowed value (inclusive). */
  min?: number;
  /** Largest allowed value (inclusive). */
  max?: number;
  /** The value must be greater than this. */
  above?: number;
  /** The value must be less than this. */
  below?: number;
  /** Unit for the message; empty for a dimensionless argument. */
  unit?: string;
}

/** Checks that a number is finite and inside `bounds`. Throws RangeError naming the argument. */
export function requireNumber(name: string, value: number, bounds: Bounds = {}): number {
  const { min, max, above, below, unit = '' } = bounds;
  const ok =
    typeof value === 'number' &&
    Number.isFinite(value) &&
    (min === undefined || value >= min) &&
    (max === undefined || value <= max) &&
    (above === undefined || value > above) &&
    (below === undefined || value < below);
  if (!ok) throw new RangeError(`${name} is ${String(value)}${unit && ` ${unit}`}; allowed: ${boundsInWords(bounds)}`);
  return value;
}

/** Checks for a finite number. As requireNumber, without a look at bounds that are not there: for what is called often. */
export function requireFinite(name: string, value: number, unit = ''): number {
  return Number.isFinite(value) ? value : requireNumber(name, value, { unit });
}

/** Checks for a finite number of at least zero; see requireFinite. */
export function requireNotNegative(name: string, value: number, unit = ''): number {
  return Number.isFinite(value) && value >= 0 ? value : requireNumber(name, value, { min: 0, unit });
}

/** Checks for a finite number greater than zero; see requireFinite. */
export function requirePositive(name: string, value: number, unit = ''): number {
  return Number.isFinite(value) && value > 0 ? value : requireNumber(name, value, { above: 0, unit });
}

/** Checks for an integer inside `bounds`. */
export function requireInteger(name: string, value: number, bounds: Bounds = {}): number {
  requireNumber(name, value, bounds);
  if (!Number.isInteger(value)) throw new RangeError(`${name} is ${value}; allowed: a whole number`);
  return value;
}

/** The allowed range in words, e.g. "a finite number > 0 mm and ≤ 500 mm". */
export function boundsInWords({ min, max, above, below, unit = '' }: Bounds): string {
  const u = unit && ` ${unit}`;
  const parts: string[] = [];
  if (min !== undefined) parts.push(`≥ ${min}${u}`);
  if (above !== undefined) parts.push(`> ${above}${u}`);
  if (max !== undefined) parts.push(`≤ ${max}${u}`);
  if (below !== undefined) parts.push(`< ${below}${u}`);
  return parts.length ? `a finite number ${parts.join(' and ')}` : 'a finite number';
}
