/** A number with so many decimals, as texts for a reader write it: with a true minus sign. */
export const fixedText = (value: number, decimals: number): string => value.toFixed(decimals).replace('-', '−');
