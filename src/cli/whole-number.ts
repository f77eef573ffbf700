import { InvalidArgumentError } from 'commander';

/** Reads the value of an option as a whole number, such as a seed. */
export function wholeNumber(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 0 || value > 0xffffffff) {
    throw new InvalidArgumentError('allowed: a whole number 0 … 4294967295.');
  }
  return value;
}
