export {
  declaredImageSize,
  decodeImage,
  decodeImagePage,
  decodeImagePages,
  imageDescription,
  imagePageCount,
} from './decode-image.js';
export { encodeFloatTiff } from './encode-float-tiff.js';
export { encodePng } from './encode-png.js';
export { encodeTiff, type TiffText } from './encode-tiff.js';
export { largestImageMpx } from './unreadable.js';
