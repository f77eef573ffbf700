import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { decodeImage, encodePng, shrinkImage } from '../image/index.js';
import type { FramePicture } from '../report/index.js';
import type { CommissionRecord } from '../station/index.js';

/** Largest width of a picture in the report; enough for a half page in print. */
const pictureWidthPx = 640;

/** Pictures of the frames whose edges were measured, read back from the handover folder. */
export async function framePictures(folder: string, { resolution }: CommissionRecord): Promise<FramePicture[]> {
  const files = [...new Set(resolution.map(({ frame }) => frame))].filter((file) => file !== '');
  return Promise.all(
    files.map(async (file) => {
      const image = decodeImage(await readFile(join(folder, file)), file);
      const factor = Math.max(1, Math.ceil(image.widthPx / pictureWidthPx));
      const png = Buffer.from(encodePng(shrinkImage({ image, factor })));
      const { widthPx, heightPx } = image;
      return { file, dataUri: `data:image/png;base64,${png.toString('base64')}`, widthPx, heightPx };
    }),
  );
}
