/** A parsed element: enough to ask a figure or report what it holds. */
export interface XmlElement {
  name: string;
  attributes: Record<string, string>;
  children: (XmlElement | string)[];
}

const nameAt = /[A-Za-z_][\w:.-]*/y;
const attributeAt = /\s+([A-Za-z_][\w:.-]*)="([^"<]*)"/y;
const badAmpersand = /&(?!(?:amp|lt|gt|quot|apos|#\d+|#x[\da-f]+);)/i;

/**
 * Parses XML 1.0 strictly, without doctype, comments and processing instructions: tags match, attributes are quoted and
 * unique, no bare & or <, one root. Throws at the first mistake, with its place.
 */
export function parseXml(text: string): XmlElement {
  let at = 0;
  const fail = (what: string): never => {
    throw new SyntaxError(`${what} at ${at}: ${JSON.stringify(text.slice(Math.max(0, at - 40), at + 60))}`);
  };
  const match = (pattern: RegExp): RegExpExecArray | null => {
    pattern.lastIndex = at;
    const found = pattern.exec(text);
    if (found) at += found[0].length;
    return found;
  };
  const unescaped = (raw: string): string => {
    if (badAmpersand.test(raw)) fail('bare &');
    for (const character of raw) {
      const code = character.codePointAt(0)!;
      const allowed =
        code === 9 ||
        code === 10 ||
        code === 13 ||
        (code >= 0x20 && !(code >= 0xd800 && code < 0xe000) && code < 0xfffe) ||
        code > 0xffff;
      if (!allowed) fail(`character ${code}`);
    }
    const named: Record<string, string> = { amp: '&', lt: '<', gt: '>', quot: '"', apos: "'" };
    return raw.replace(/&(?:#x([\da-f]+)|#(\d+)|(\w+));/gi, (_, hex, decimal, name) =>
      name ? named[name]! : String.fromCodePoint(hex ? Number.parseInt(hex, 16) : Number(decimal)),
    );
  };
  function parseElement(): XmlElement {
    if (text[at] !== '<') fail('no element');
    at += 1;
    const name = (match(nameAt) ?? fail('no name'))[0];
    const attributes: Record<string, string> = {};
    for (let found = match(attributeAt); found; found = match(attributeAt)) {
      if (found[1]! in attributes) fail(`second ${found[1]}`);
      attributes[found[1]!] = unescaped(found[2]!);
    }
    if (match(/\s*\/>/y)) return { name, attributes, children: [] };
    if (!match(/\s*>/y)) fail(`<${name}> not closed`);
    const children: (XmlElement | string)[] = [];
    for (;;) {
      const run = match(/[^<]+/y);
      if (run) children.push(unescaped(run[0]));
      if (at >= text.length) fail(`</${name}> missing`);
      if (text.startsWith('</', at)) break;
      children.push(parseElement());
    }
    at += 2;
    if (match(nameAt)?.[0] !== name) fail(`</${name}> expected`);
    if (!match(/\s*>/y)) fail('end tag not closed');
    return { name, attributes, children };
  }
  match(/\s*/y);
  const root = parseElement();
  match(/\s*/y);
  if (at < text.length) fail('second root');
  return root;
}

/** Every element below and including this one. */
export function elementsOf(root: XmlElement): XmlElement[] {
  return [root, ...root.children.flatMap((child) => (typeof child === 'string' ? [] : elementsOf(child)))];
}

/** All text of an element. */
export const textOf = (node: XmlElement | string): string =>
  typeof node === 'string' ? node : node.children.map(textOf).join('');
