import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { decodeBase64 } from '../../src/base/base64.js';

const textOf = (bytes: Uint8Array) => String.fromCharCode(...bytes);

describe('decodeBase64', () => {
  it.each([
    ['', ''],
    ['Zg==', 'f'],
    ['Zm8=', 'fo'],
    ['Zm9v', 'foo'],
    ['Zm9vYg==', 'foob'],
    ['Zm9vYmE=', 'fooba'],
    ['Zm9vYmFy', 'foobar'],
  ])('reference RFC 4648 section 10: %s', (text, plain) => {
    expect(textOf(decodeBase64(text))).toBe(plain);
  });

  it('property: gives back what the platform encoded', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        expect(Array.from(decodeBase64(Buffer.from(bytes).toString('base64')))).toEqual(Array.from(bytes));
      }),
    );
  });

  it('refuses a wrong length and a wrong character, naming the place', () => {
    expect(() => decodeBase64('Zg=')).toThrow(/3 characters/);
    expect(() => decodeBase64('Zm9v Zg=')).toThrow(/" " at 4/);
    expect(() => decodeBase64('Zmλv')).toThrow(/"λ" at 2/);
    expect(() => decodeBase64('Z===')).toThrow(/"=" at 1/);
  });
});
