import type { LedgerRow } from '../../base/index.js';
import type { MeasureResult } from './measure-order.js';
import { focusRows, gridRows, noiseRows } from './picture-rows.js';
import type { FramePrediction } from './prediction.js';
import { barsRows, edgeRows, starRows } from './resolution-rows.js';

/** The rows of a result beside what the station predicts; none for a refusal. */
export function measureRows(
  result: MeasureResult,
  { about, bitDepth }: { about: FramePrediction; bitDepth: number },
): LedgerRow[] {
  switch (result.what) {
    case 'edge':
      return result.reading.kind === 'measured' ? edgeRows(result.reading, about) : [];
    case 'focus':
      return result.reading.kind === 'measured' ? focusRows(result.reading) : [];
    case 'bars':
      return result.reading.kind === 'measured' ? barsRows(result.reading, about) : [];
    case 'star':
      return result.reading.kind === 'measured' ? starRows(result.reading, about) : [];
    case 'grid':
      return result.reading.kind === 'measured' ? gridRows(result.reading, about) : [];
    case 'noise':
      return result.reading.kind === 'measured' ? noiseRows(result.reading, { about, bitDepth }) : [];
  }
}
