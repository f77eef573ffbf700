import { describe, expect, it } from 'vitest';
import { parseXml, textOf } from './strict-xml.js';

describe('strict XML', () => {
  it('closed form: reads names, attributes and text', () => {
    const root = parseXml('<a x="1 &lt; 2"><b/>t &amp; u<c>é</c></a>');
    expect(root.attributes).toEqual({ x: '1 < 2' });
    expect(textOf(root)).toBe('t & ué');
  });

  it.each([
    '<a>',
    '<a></b>',
    '<a x=1/>',
    '<a x="1" x="2"/>',
    '<a>&</a>',
    '<a>\u0001</a>',
    '<a/><b/>',
    'a',
    '<a x="<"/>',
  ])('refuses %j', (text) => {
    expect(() => parseXml(text)).toThrow(SyntaxError);
  });
});
