import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { readImage, readImagePages, regionInside } from '../../src/app/index.js';
import { decodeImagePages } from '../../src/image/index.js';

const pages = 'references/tiff/grey16-three-pages.tif';

describe('readImage', () => {
  it('property: one page equals that page of all', async () => {
    const all = decodeImagePages(readFileSync(pages));
    expect((await readImagePages(pages)).images).toEqual(all);
    for (const [i, image] of all.entries()) {
      expect(await readImage(pages, { page: i + 1 })).toMatchObject({ file: pages, page: i + 1, pageCount: 3, image });
    }
  });

  it('refuses what is no file, and a page that is not there', async () => {
    for (const path of ['/dev/zero', '.', 'nowhere.png']) {
      await expect(readImage(path)).rejects.toMatchObject({ code: 'image-unreadable' });
    }
    await expect(readImage(pages, { page: 4 })).rejects.toThrow(/no page 4/);
  });

  it('refuses a region that leaves the image by one pixel, not one that fills it', async () => {
    const source = await readImage(pages);
    const { widthPx, heightPx } = source.image;
    const whole = { xPx: 0, yPx: 0, widthPx, heightPx };
    expect(regionInside(whole, source)).toEqual(whole);
    expect(() => regionInside({ ...whole, xPx: 1 }, source)).toThrow(
      expect.objectContaining({ code: 'region-outside-frame' }),
    );
  });
});
