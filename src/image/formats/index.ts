export { declaredImageSize, decodeImage, decodeImagePages, imageDescription } from './decode-image.js';
export { encodePng } from './encode-png.js';
export { encodeTiff, type TiffText } from './encode-tiff.js';
export { largestImageMpx } from './unreadable.js';
