import { FocuswrightError } from '../../base/index.js';

/** Most pixels accepted in one frame: a file that declares more is refused before anything is decoded. */
export const largestImageMpx = 128;

/** The error for a file that cannot be read as a grey image; `met` says what was found instead. */
export const unreadable = (file: string, met: string, cause?: unknown): FocuswrightError =>
  new FocuswrightError('image-unreadable', { file, met }, cause === undefined ? {} : { cause });

/** The error for a page that the file does not have. */
export const pageMissing = (file: string, pageIndex: number, pageCount: number): FocuswrightError =>
  new FocuswrightError(
    'image-unreadable',
    { file, met: `no page ${pageIndex + 1}` },
    { remedy: pageCount === 1 ? 'The file has one page.' : `Choose a page from 1 to ${pageCount}.` },
  );

/** Checks declared dimensions: at least one pixel, at most the limit. */
export function requireDeclaredSize(file: string, widthPx: number, heightPx: number): void {
  if (widthPx < 1 || heightPx < 1) throw unreadable(file, `a size of ${widthPx} × ${heightPx} px`);
  if (widthPx * heightPx > largestImageMpx * 1e6) {
    throw new FocuswrightError('image-too-large', {
      file,
      declared: `${widthPx} × ${heightPx} px`,
      limit: `${largestImageMpx} Mpx`,
    });
  }
}

/** Runs a decoding library; whatever it throws becomes the catalogue's error. */
export function decoding<T>(file: string, decode: () => T): T {
  try {
    return decode();
  } catch (cause) {
    if (cause instanceof FocuswrightError) throw cause;
    throw unreadable(file, `damaged data (${cause instanceof Error ? cause.message : String(cause)})`, cause);
  }
}
