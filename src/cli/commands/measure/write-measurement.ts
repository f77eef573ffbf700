import { softwareVersion } from '../../../app/index.js';
import type { GreyImage } from '../../../image/index.js';
import { exitCodes } from '../../exit-codes.js';
import { writeResult } from '../../output.js';

/** An image file as `readImage` gives it. */
interface MeasuredImage {
  file: string;
  sha256: string;
  page: number;
  pageCount: number;
  image: GreyImage;
}

/**
 * Writes a measurement on one image: as JSON the library's plain record after file, hash, size and version; as text a line
 * about the image and then `text`. `refused` sets the exit code.
 */
export function writeMeasurement(
  source: MeasuredImage,
  record: object,
  { json, refused, text }: { json: boolean | undefined; refused: boolean; text: () => string },
): void {
  const { file, sha256, page, pageCount } = source;
  const { widthPx, heightPx, bitDepth } = source.image;
  const result = { file, sha256, page, pageCount, widthPx, heightPx, bitDepth, softwareVersion, ...record };
  const pageText = pageCount > 1 ? `, page ${page} of ${pageCount}` : '';
  writeResult(result, {
    json,
    text: () => `${file}: ${widthPx} × ${heightPx} px, ${bitDepth} bit${pageText}\n\n${text()}`,
  });
  if (refused) process.exitCode = exitCodes.refused.code;
}

/** A refusal as a reader sees it: what was met, and what to do. */
export const refusalText = ({ message, remedy }: { message: string; remedy: string }): string =>
  `refused: ${message}\n    → ${remedy}`;
