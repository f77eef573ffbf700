import ts from 'typescript';
import names from './dimensionless-names.json' with { type: 'json' };
import { lineOf, parse, type Source, visit } from './sources.js';

const oneLetter = names.units.filter((unit) => unit.length === 1).join('|');
const longer = names.units.filter((unit) => unit.length > 1).join('|');
/** A unit at the end of a name; a single letter counts as a unit only after a small letter or a digit. */
const suffix = new RegExp(`(?:(?:${longer})|(?<=[a-z0-9])(?:${oneLetter}))[23]?$`);
const dimensionless = new Set(names.dimensionless);
/** Names whose unit is whatever the caller's is, or that only one file needs. */
const inOneFile: Record<string, readonly string[]> = names.inOneFile;
const endsDimensionless = new RegExp(
  `(?:${names.dimensionless.map((name) => name[0].toUpperCase() + name.slice(1)).join('|')})$`,
);

/** True where a numeric name says its unit, or is one of the dimensionless names (alone or as its last word). */
export function saysItsUnit(name: string): boolean {
  return suffix.test(name) || dimensionless.has(name) || endsDimensionless.test(name);
}

/** Numeric fields of exported interfaces, object types and schemas whose name has no unit, as `file:line name`. */
export function fieldsWithoutUnit(sources: readonly Source[]): string[] {
  return sources.flatMap((source) => {
    const found: string[] = [];
    const check = (name: ts.Node) => {
      if (!ts.isIdentifier(name) || saysItsUnit(name.text) || inOneFile[source.path]?.includes(name.text)) return;
      found.push(`${source.path}:${lineOf(name)} ${name.text}`);
    };
    for (const statement of parse(source).statements) {
      if (!isExported(statement)) continue;
      visit(statement, (node) => {
        if (ts.isPropertySignature(node) && node.type && isNumeric(node.type)) check(node.name);
        if (ts.isPropertyAssignment(node) && /^z\s*\.(number|int)\(/.test(node.initializer.getText())) check(node.name);
      });
    }
    return found;
  });
}

function isExported(statement: ts.Statement): boolean {
  return (
    (ts.isInterfaceDeclaration(statement) ||
      ts.isTypeAliasDeclaration(statement) ||
      ts.isVariableStatement(statement)) &&
    statement.modifiers?.some(({ kind }) => kind === ts.SyntaxKind.ExportKeyword) === true
  );
}

/** number, number[], readonly number[], number | null … */
function isNumeric(type: ts.TypeNode): boolean {
  if (type.kind === ts.SyntaxKind.NumberKeyword) return true;
  if (ts.isArrayTypeNode(type)) return isNumeric(type.elementType);
  if (ts.isTypeOperatorNode(type)) return isNumeric(type.type);
  return ts.isUnionTypeNode(type) && type.types.some(isNumeric);
}
