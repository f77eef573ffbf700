import {
  type Document,
  isAlias,
  isCollection,
  isNode,
  LineCounter,
  type ParsedNode,
  parseDocument,
  type Scalar,
  visit,
  type YAMLError,
} from 'yaml';
import type { PlacedMessage } from './station-problem.js';

/** Characters of the largest station file that is read. */
export const stationTextMaxCount = 200_000;
/** Deepest indentation and nesting of brackets: a station file needs 3 levels; unbounded nesting exhausts the parser. */
const indentMaxCount = 60;
const bracketDepthMax = 10;

/** A parsed station file, or what keeps it from being one. `duplicates` are mistakes that leave the rest readable. */
export type YamlText =
  | { kind: 'malformed'; problems: PlacedMessage[] }
  | { kind: 'parsed'; document: Document.Parsed; placeOf: (offset: number) => Place; duplicates: PlacedMessage[] };

/** Line and column, from 1. */
export interface Place {
  line: number;
  column: number;
}

/**
 * Parses a station file's text, bounded in size and depth.
 *
 * Model    YAML 1.2 core schema; one document; a mapping at the top; no anchors, aliases, tags
 * Trust    text that is not YAML never throws: every mistake comes back with its place.
 */
export function parseYamlText(text: string): YamlText {
  const unreadable = textProblem(text);
  if (unreadable) return { kind: 'malformed', problems: [unreadable] };

  const { document, lines } = documentOf(text);
  const placeOf = (offset: number): Place => {
    const { line, col } = lines.linePos(offset);
    return { line: Math.max(line, 1), column: Math.max(col, 1) };
  };
  const at = (offset: number, message: string): PlacedMessage => ({ ...placeOf(offset), keyPath: '', message });

  const duplicates: PlacedMessage[] = [];
  const problems: PlacedMessage[] = [];
  for (const error of [...document.errors, ...document.warnings]) {
    const list = error.code === 'DUPLICATE_KEY' ? duplicates : problems;
    list.push(at(error.pos[0], yamlErrorInWords(error, text)));
  }
  visit(document, {
    Pair(_, { key }) {
      if (isCollection(key))
        problems.push(at(key.range?.[0] ?? 0, 'a list or group stands where a key should; write key: value'));
    },
    Node(_, node) {
      const offset = node.range?.[0] ?? 0;
      if (isAlias(node) || (isNode(node) && 'anchor' in node && node.anchor)) {
        problems.push(at(offset, 'anchors (&) and aliases (*) are not used in a station file; write the value out'));
      } else if (node.tag) {
        problems.push(at(offset, `the tag ${node.tag} is not used in a station file; remove it`));
      }
    },
  });
  if (problems.length > 0) return { kind: 'malformed', problems };
  return { kind: 'parsed', document: document as Document.Parsed<ParsedNode>, placeOf, duplicates };
}

let last: { text: string; document: Document.Parsed; lines: LineCounter } | null = null;

/** The document of a text, to be read and not changed: that of the last text is kept, as a dragged value is set in it next. */
export function documentOf(text: string): { document: Document.Parsed; lines: LineCounter } {
  if (last?.text !== text) {
    const lines = new LineCounter();
    last = { text, lines, document: parseDocument(text, { lineCounter: lines, prettyErrors: false, version: '1.2' }) };
  }
  return last;
}

/**
 * Tells that the last text is now `text`: one of its plain numbers was written anew. While a value is dragged, nothing else
 * is parsed again.
 *
 * Input    `node` of the last document, `source` as the number now stands in the text
 * Checked  property: every number of the demonstration stations, against parsing anew, tests/station/write-station.test.ts
 */
export function keepWithNumber({
  text,
  node,
  value,
  source,
}: {
  text: string;
  node: Scalar;
  value: number;
  source: string;
}): void {
  if (last === null || !node.range || last.document.errors.length + last.document.warnings.length > 0) return;
  const { document, lines } = last;
  const end = node.range[1];
  const growth = text.length - last.text.length;
  const moved = (at: number) => (at >= end ? at + growth : at);
  visit(document, {
    Node(_, { range }) {
      if (range) for (let i = 0; i < 3; i++) range[i] = moved(range[i]!);
    },
  });
  if (document.contents?.range) document.range[1] = moved(document.range[1]);
  lines.lineStarts = lines.lineStarts.map(moved);
  node.value = value;
  node.source = source;
  last = { text, document, lines };
}

/** What can be seen without parsing: emptiness, size, bytes that are no text, nesting without end. */
function textProblem(text: string): PlacedMessage | null {
  const at = (line: number, message: string): PlacedMessage => ({ line, column: 1, keyPath: '', message });
  if (text.trim() === '') {
    return at(1, 'the file is empty; write at least station, format, task, parts, layout and controls');
  }
  if (text.length > stationTextMaxCount) {
    return at(1, `the file has ${text.length} characters; allowed: ≤ ${stationTextMaxCount}; is it a station file?`);
  }
  const lines = text.split('\n');
  const binary = lines.findIndex((line) => /[\p{Cc}\ufffd]/u.test(line.replace(/[\t\r\f]/g, '')));
  if (binary >= 0) {
    return at(
      binary + 1,
      'the file holds bytes that are not UTF-8 text; save it as UTF-8, or check that it is a station file',
    );
  }
  let depth = 0;
  for (const [i, line] of lines.entries()) {
    const content = line.replace(/"[^"]*"|'[^']*'/g, '').replace(/(^|\s)#.*/, '');
    for (const character of content) {
      if ('[{'.includes(character)) depth++;
      else if (']}'.includes(character)) depth = Math.max(0, depth - 1);
      if (depth > bracketDepthMax)
        return at(i + 1, `more than ${bracketDepthMax} nested brackets; a station file needs one`);
    }
    if (/^[\s\-?:!&]*/.exec(line)![0].length > indentMaxCount) {
      return at(i + 1, `indented by more than ${indentMaxCount} characters; indent each level by 2 spaces`);
    }
  }
  return null;
}

function yamlErrorInWords({ code, message, pos }: YAMLError, text: string): string {
  switch (code) {
    case 'TAB_AS_INDENT':
      return 'a tab is used for indentation; indent with spaces';
    case 'DUPLICATE_KEY':
      return `the key ${/^[^\s:]+/.exec(text.slice(pos[0]))?.[0] ?? ''} is written twice in one group; keep one of the two`;
    case 'MULTIPLE_DOCS':
      return 'a second document begins (---); one file holds one station';
    case 'TAG_RESOLVE_FAILED':
      return `${message.toLowerCase()}; tags are not used in a station file`;
    case 'BLOCK_AS_IMPLICIT_KEY':
    case 'MULTILINE_IMPLICIT_KEY':
    case 'BAD_INDENT':
      return `${message}; check indentation and brackets, write one key per line, and put text that holds ": " in quotes`;
    case 'MISSING_CHAR':
      return `${message}; close the quote or bracket, or add the missing space or colon`;
    default:
      return `${message}; put the text in quotes if it begins with a special character`;
  }
}
