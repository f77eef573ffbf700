import { readdirSync, readFileSync } from 'node:fs';
import { join, relative, sep } from 'node:path';
import { fileURLToPath } from 'node:url';
import ts from 'typescript';

const root = fileURLToPath(new URL('../..', import.meta.url));

/** One source file: its path from the repository's root, with forward slashes, and its text. */
export interface Source {
  path: string;
  text: string;
}

/** All TypeScript sources below `folder`, without generated kernels and declaration files. */
export function sourcesBelow(folder: string): Source[] {
  return readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
    .filter((entry) => entry.isFile() && /\.tsx?$/.test(entry.name) && !/\.(wasm|d)\.ts$/.test(entry.name))
    .map((entry) => join(entry.parentPath, entry.name))
    .sort()
    .map((file) => ({ path: relative(root, file).split(sep).join('/'), text: readFileSync(file, 'utf8') }));
}

export function parse({ path, text }: Source): ts.SourceFile {
  return ts.createSourceFile(path, text, ts.ScriptTarget.ES2022, true);
}

export function visit(node: ts.Node, see: (node: ts.Node) => void): void {
  see(node);
  ts.forEachChild(node, (child) => visit(child, see));
}

/** 1-based line on which a node starts. */
export function lineOf(node: ts.Node): number {
  const file = node.getSourceFile();
  return file.getLineAndCharacterOfPosition(node.getStart(file)).line + 1;
}

/** Every module that a file names: import, export … from, import(), and import types. */
export function importsOf(source: Source): { line: number; specifier: string }[] {
  const found: { line: number; specifier: string }[] = [];
  visit(parse(source), (node) => {
    let specifier: ts.Node | undefined;
    if (ts.isImportDeclaration(node) || ts.isExportDeclaration(node)) specifier = node.moduleSpecifier;
    else if (ts.isImportTypeNode(node) && ts.isLiteralTypeNode(node.argument)) specifier = node.argument.literal;
    else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword)
      specifier = node.arguments[0];
    if (specifier && ts.isStringLiteralLike(specifier)) found.push({ line: lineOf(node), specifier: specifier.text });
  });
  return found;
}
