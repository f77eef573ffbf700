import { InvalidArgumentError } from 'commander';

/** Reads `low,high` in dpt. */
export function parsePowerRange(text: string): [number, number] {
  const [low, high, ...more] = text.split(',').map((part) => (part.trim() === '' ? Number.NaN : Number(part)));
  if (more.length > 0 || !Number.isFinite(low) || !Number.isFinite(high) || low! >= high!) {
    throw new InvalidArgumentError('It must be low,high: two focal powers in dpt, the lower one first, e.g. -1,2.5.');
  }
  return [low!, high!];
}
