import type { Estimate, Requirement } from '../base/index.js';

/** A number as it is shown: value, smaller uncertainty, lighter unit. Empty texts where there is none. */
export interface NumberText {
  value: string;
  /** e.g. `± 0.4`; one standard uncertainty. */
  uncertainty: string;
  unit: string;
}

const narrowSpace = '\u202F';
const minus = '\u2212';
const superscripts: Record<string, string> = {
  '-': '⁻',
  '0': '⁰',
  '1': '¹',
  '2': '²',
  '3': '³',
  '4': '⁴',
  '5': '⁵',
  '6': '⁶',
  '7': '⁷',
  '8': '⁸',
  '9': '⁹',
};

/**
 * Decimals that an uncertainty earns: its first three digits 100–354 → two digits of it, 355–949 → one, 950–999 → two
 * after rounding up. Negative: the value is rounded to tens, hundreds …
 *
 * Source   rounding rule of the Particle Data Group, Review of Particle Physics, Introduction (from memory)
 */
export function earnedDecimals(std: number): number {
  const exponent = Math.floor(Math.log10(std));
  const lead = std / 10 ** exponent;
  return (lead < 3.545 ? 1 : 0) - exponent;
}

/**
 * A number without a known uncertainty.
 *
 * Returns  `significantDigits` digits without padding zeros; a power of ten outside 10⁻⁴ … 10⁶.
 */
export function formatNumber(value: number, significantDigits = 3): string {
  if (!Number.isFinite(value)) return value > 0 ? '∞' : value < 0 ? `${minus}∞` : 'not known';
  if (value === 0) return '0';
  const size = Math.abs(value);
  if (size < 1e-4 || size >= 1e6) return scientific(value, significantDigits);
  const whole = Math.max(significantDigits, Math.floor(Math.log10(size)) + 1);
  return signed(String(Number(value.toPrecision(Math.min(whole, 21)))));
}

/** With this many decimals (negative: tens, hundreds …). */
export function formatFixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return formatNumber(value);
  if (Math.abs(value) >= 1e15) return scientific(value, 3);
  const step = 10 ** -decimals;
  const text = decimals < 0 ? String(Math.round(value / step) * step) : value.toFixed(Math.min(decimals, 15));
  return Number(text) === 0 ? text.replace('-', '') : signed(text);
}

/** Value with the digits its uncertainty earns, the uncertainty beside it, and the unit. */
export function formatEstimate(estimate: Estimate | null, unit: string): NumberText {
  if (estimate === null) return { value: '–', uncertainty: '', unit: '' };
  const { value, std } = estimate;
  if (std === null || !Number.isFinite(std) || std <= 0 || !Number.isFinite(value)) {
    return { value: formatNumber(value), uncertainty: '', unit };
  }
  const decimals = earnedDecimals(std);
  if (decimals > 12 || decimals < -12) {
    return { value: formatNumber(value), uncertainty: `±${narrowSpace}${formatNumber(std, 2)}`, unit };
  }
  return { value: formatFixed(value, decimals), uncertainty: `±${narrowSpace}${formatFixed(std, decimals)}`, unit };
}

/** The same on one line: `340.2 ± 0.4 mm`. */
export function estimateInWords(estimate: Estimate | null, unit: string): string {
  const text = formatEstimate(estimate, unit);
  return [text.value, text.uncertainty, text.unit].filter((part) => part !== '').join(narrowSpace);
}

/** Value and unit on one line: `340 mm`. */
export const withUnit = (value: number, unit: string, significantDigits = 3): string =>
  unit === ''
    ? formatNumber(value, significantDigits)
    : `${formatNumber(value, significantDigits)}${narrowSpace}${unit}`;

/** A share in per cent, with as many digits as tell it from none and from all: `99.96 %`, `0.02 %`, `77.1 %`. */
export function sharePercent(share: number): string {
  const away = Math.min(share, 1 - share);
  const decimals = away < 1e-6 ? 0 : away < 1e-3 ? 2 : 1;
  return `${formatFixed(100 * share, decimals)}${narrowSpace}%`;
}

/** What a requirement allows: `≥ 0.2`, `340 … 545`, `≤ 0.9`. */
export function formatRequirement(required: Requirement | null, unit: string): NumberText {
  const value = requirementValue(required);
  return { value, uncertainty: '', unit: value === '–' ? '' : unit };
}

function requirementValue(required: Requirement | null): string {
  if (required === null) return '–';
  const { min, max } = required;
  if (min !== null && max !== null) {
    return min === max ? limitText(min) : `${limitText(min)} … ${limitText(max)}`;
  }
  if (min !== null) return `≥${narrowSpace}${limitText(min)}`;
  return max === null ? '–' : `≤${narrowSpace}${limitText(max)}`;
}

/** A limit as it was written; a computed one, with more digits than anybody writes, is rounded. */
const limitText = (limit: number): string => formatNumber(limit, String(limit).length > 8 ? 3 : 8);

function scientific(value: number, significantDigits: number): string {
  const [mantissa, exponent] = value.toExponential(significantDigits - 1).split('e') as [string, string];
  const power = [...String(Number(exponent))].map((character) => superscripts[character]).join('');
  return signed(`${Number(mantissa)}${narrowSpace}×${narrowSpace}10${power}`);
}

const signed = (text: string): string => text.replace('-', minus);
