/**
 * A number with its unit for a sentence, with as many digits as it earns: "340 mm", "0.0105 dpt". Never an exponent;
 * what is smaller than a millionth counts as 0.
 */
export function inWords(value: number, unit = '', digits = 3): string {
  const size = Math.abs(value);
  const order = size < 1e-6 ? 0 : Math.floor(Math.log10(size));
  const decimals = Math.min(20, Math.max(0, digits - 1 - order));
  const shown = value.toFixed(decimals);
  const trimmed = decimals > 0 ? withoutEndingZeros(shown) : shown;
  const signed = trimmed === '-0' ? '0' : trimmed.replace('-', '−');
  return unit ? `${signed} ${unit}` : signed;
}

/** "0.120" → "0.12", "3.00" → "3"; for numbers with a decimal point. */
function withoutEndingZeros(shown: string): string {
  let end = shown.length;
  while (shown[end - 1] === '0') end--;
  return shown.slice(0, shown[end - 1] === '.' ? end - 1 : end);
}

/** "12 %". */
export const percent = (share: number): string => inWords(share * 100, '%', 2);
