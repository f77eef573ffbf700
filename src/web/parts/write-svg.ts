/**
 * Writes the markup of a figure into its place and, when it is drawn anew, changes only what differs from the drawing
 * before: most of a figure (axes, ticks, bands) stays while a value is dragged, and what stays needs neither parsing nor layout.
 *
 * Input    markup of src/report/markup.ts: elements alone, or one text, within an element; `"` around each attribute
 */
export class SvgPlace {
  private written = '';
  private root: Node | null = null;

  constructor(private readonly place: Element) {}

  write(svg: string): void {
    if (svg === this.written) return;
    const root = treeOf(svg);
    if (this.root && this.root.name === root.name && this.place.childElementCount === 1) change(this.root, root);
    else {
      this.place.innerHTML = svg;
      bind(root, this.place.firstElementChild!);
    }
    this.written = svg;
    this.root = root;
  }
}

/** An element of the markup, with the element of the page that shows it. */
interface Node {
  name: string;
  /** Attributes as they are written. */
  attributes: string;
  /** Text inside, as it is written; empty where there are elements. */
  text: string;
  /** All of it, as it is written. */
  markup: string;
  children: Node[];
  shown: Element;
}

/** Reads markup into a tree; the elements that show it are bound later. */
function treeOf(svg: string): Node {
  const open: { node: Node; from: number }[] = [];
  let at = 0;
  for (;;) {
    const end = svg.indexOf('>', at);
    if (svg.charCodeAt(at + 1) === slash) {
      const { node, from } = open.pop()!;
      node.markup = svg.slice(from, end + 1);
      if (open.length === 0) return node;
    } else {
      const space = svg.indexOf(' ', at);
      const nameEnd = space < 0 || space > end ? end : space;
      const next = svg.indexOf('<', end);
      const node: Node = {
        name: svg.slice(at + 1, nameEnd),
        attributes: svg.slice(nameEnd, end),
        text: svg.slice(end + 1, next),
        markup: '',
        children: [],
        shown: undefined as unknown as Element,
      };
      open.at(-1)?.node.children.push(node);
      open.push({ node, from: at });
    }
    at = svg.indexOf('<', end);
  }
}

const slash = '/'.charCodeAt(0);

function bind(node: Node, shown: Element): void {
  node.shown = shown;
  let child = shown.firstElementChild;
  for (const one of node.children) {
    bind(one, child!);
    child = child!.nextElementSibling;
  }
}

/** Makes what shows `before` show `now`, an element of the same name. */
function change(before: Node, now: Node): void {
  const { shown } = before;
  now.shown = shown;
  if (before.markup === now.markup) {
    now.children = before.children;
    return;
  }
  if (before.attributes !== now.attributes) changeAttributes(shown, before.attributes, now.attributes);
  if (before.children.length === 0 && now.children.length === 0) {
    if (before.text !== now.text) shown.textContent = plainText(now.text);
  } else changeChildren(before, now);
}

/** Children alike at the beginning and at the end are changed one by one, those between taken out and written anew. */
function changeChildren(before: Node, now: Node): void {
  const [old, next] = [before.children, now.children];
  const least = Math.min(old.length, next.length);
  let head = 0;
  while (head < least && old[head]!.name === next[head]!.name) head++;
  let tail = 0;
  while (tail < least - head && old.at(-1 - tail)!.name === next.at(-1 - tail)!.name) tail++;
  for (let i = 0; i < head; i++) change(old[i]!, next[i]!);
  for (let i = 1; i <= tail; i++) change(old.at(-i)!, next.at(-i)!);
  for (const gone of old.slice(head, old.length - tail)) gone.shown.remove();
  const added = next.slice(head, next.length - tail);
  if (added.length === 0) return;
  const markup = added.map((node) => node.markup).join('');
  const neighbour = head > 0 ? old[head - 1]!.shown : null;
  if (neighbour) neighbour.insertAdjacentHTML('afterend', markup);
  else now.shown.insertAdjacentHTML('afterbegin', markup);
  let shown = neighbour ? neighbour.nextElementSibling : now.shown.firstElementChild;
  for (const node of added) {
    bind(node, shown!);
    shown = shown!.nextElementSibling;
  }
}

/** Written as ` name="value" name="value"`: cut at the quotes, names and values take turns. */
function changeAttributes(shown: Element, before: string, now: string): void {
  const [old, next] = [before.split('"'), now.split('"')];
  for (let i = 0; i + 1 < next.length; i += 2) {
    const name = next[i]!;
    // Mostly the same names stand in the same order.
    const at = old[i] === name ? i : old.indexOf(name);
    if (at < 0 || old[at + 1] !== next[i + 1]) shown.setAttribute(name.slice(1, -1), plainText(next[i + 1]!));
  }
  for (let i = 0; i + 1 < old.length; i += 2)
    if (next[i] !== old[i] && !next.includes(old[i]!)) shown.removeAttribute(old[i]!.slice(1, -1));
}

const characters: Record<string, string> = { '&amp;': '&', '&lt;': '<', '&gt;': '>', '&quot;': '"', '&#39;': "'" };

const plainText = (text: string): string =>
  text.includes('&') ? text.replace(/&(?:amp|lt|gt|quot|#39);/g, (escaped) => characters[escaped]!) : text;
