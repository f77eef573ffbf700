import { rename, rm, writeFile } from 'node:fs/promises';
import { extname } from 'node:path';
import { FocuswrightError, systemReason } from '../base/index.js';
import { drawMarks, encodePng, type GreyImage, type PictureMark, shrinkImage } from '../image/index.js';
import { markedPictureFigure, standaloneSvg } from '../report/index.js';

/** Largest width of the frame inside an SVG. */
const widestPx = 1600;

/**
 * Writes a frame with what was found in it, as PNG or SVG by the file's ending. Nothing half-written is left.
 *
 * Throws   `picture-not-writable` for another ending, or where the file cannot be written.
 */
export async function writePicture(
  file: string,
  what: { image: GreyImage; marks: readonly PictureMark[]; title: string; description: string },
): Promise<void> {
  const ending = extname(file).toLowerCase();
  if (ending !== '.png' && ending !== '.svg') {
    throw new FocuswrightError('picture-not-writable', { path: file, reason: 'a picture ends in .png or .svg' });
  }
  const content = ending === '.png' ? drawMarks(what) : pictureSvg(what);
  const partial = `${file}.part`;
  try {
    await writeFile(partial, content);
    await rename(partial, file);
  } catch (cause) {
    await rm(partial, { force: true }).catch(() => {});
    throw new FocuswrightError('picture-not-writable', { path: file, reason: systemReason(cause) }, { cause });
  }
}

function pictureSvg({ image, ...rest }: Parameters<typeof writePicture>[1]): string {
  const { widthPx, heightPx } = image;
  const factor = Math.max(1, Math.ceil(widthPx / widestPx));
  const png = Buffer.from(encodePng(shrinkImage({ image, factor })));
  const picture = { dataUri: `data:image/png;base64,${png.toString('base64')}`, widthPx, heightPx };
  return standaloneSvg(markedPictureFigure({ ...rest, picture }, { widthPx: Math.max(720, Math.min(1200, widthPx)) }));
}
