import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { element, styleSheet } from '../../src/report/markup.js';
import { parseXml, textOf } from './strict-xml.js';

const anyText = fc.string({ unit: 'binary', maxLength: 40 });

describe('markup', () => {
  it('property: any text and attribute give well-formed markup', () => {
    fc.assert(
      fc.property(anyText, anyText, (text, attribute) => {
        parseXml(element('p', { title: attribute }, text).markup);
      }),
    );
  });

  it('property: printable text comes back as it was', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme' }), (text) => {
        expect(textOf(parseXml(element('p', {}, text).markup))).toBe(text);
      }),
    );
  });

  it('closed form: escapes, leaves out null and false, keeps two decimals', () => {
    expect(element('a', { x: 1 / 3, y: -0.001, z: null, w: false, t: '"<' }, 'R&D', false, null).markup).toBe(
      '<a x="0.33" y="0" t="&quot;&lt;">R&amp;D</a>',
    );
    expect(element('br').markup).toBe('<br />');
  });

  it.each([Number.NaN, Number.POSITIVE_INFINITY])('refuses the number %s', (value) => {
    expect(() => element('line', { x1: value })).toThrow(/x1 of <line> is .*allowed: a finite number/);
  });

  it('refuses a style sheet that would end its element', () => {
    expect(() => styleSheet('a{}</style>')).toThrow(RangeError);
  });
});
