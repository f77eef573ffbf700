const alphabet = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';
const valueOfCode = new Uint8Array(128).fill(255);
for (let value = 0; value < 64; value++) valueOfCode[alphabet.charCodeAt(value)] = value;

/**
 * The bytes that a Base64 text stands for; padding is required, white space is not allowed.
 *
 * Returns  the bytes, in a buffer of their own.
 * Throws   RangeError naming the place, if the length is not a multiple of 4 or a character is outside the alphabet.
 * Source   RFC 4648, section 4.
 * Checked  reference: the vectors of RFC 4648, section 10.
 */
export function decodeBase64(text: string): Uint8Array<ArrayBuffer> {
  if (text.length % 4 !== 0)
    throw new RangeError(`Base64 text has ${text.length} characters; allowed: a multiple of 4`);
  const padding = text.endsWith('==') ? 2 : text.endsWith('=') ? 1 : 0;
  const bytes = new Uint8Array((text.length / 4) * 3 - padding);
  const last = text.length - padding;
  let written = 0;
  let bits = 0;
  for (let at = 0; at < last; at++) {
    const value = valueOfCode[text.charCodeAt(at)] ?? 255;
    if (value === 255) throw new RangeError(`Base64 text has "${text[at]}" at ${at}; allowed: A–Z a–z 0–9 + /`);
    bits = ((bits << 6) | value) & 0xffffff;
    if (at % 4 > 0) bytes[written++] = (bits >> (6 - 2 * (at % 4))) & 0xff;
  }
  return bytes;
}
