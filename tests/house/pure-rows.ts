import ts from 'typescript';
import { lineOf, parse, type Source, visit } from './sources.js';

/** Objects of a platform, none of which a pure row may touch. */
const forbiddenObjects = new Set(['process', 'console', 'globalThis', 'performance', 'crypto', 'Date']);
const forbiddenCalls = new Set(['setTimeout', 'setInterval', 'setImmediate', 'queueMicrotask', 'fetch', 'require']);

/** Every use of a clock, of unseeded chance or of the platform, as `file:line uses …`. */
export function impurities(sources: readonly Source[]): string[] {
  return sources.flatMap((source) => {
    const found: string[] = [];
    const report = (node: ts.Node, use: string) => found.push(`${source.path}:${lineOf(node)} uses ${use}`);
    visit(parse(source), (node) => {
      if (ts.isPropertyAccessExpression(node) && ts.isIdentifier(node.expression)) {
        const use = `${node.expression.text}.${node.name.text}`;
        if (forbiddenObjects.has(node.expression.text) || use === 'Math.random') report(node, use);
      } else if (ts.isNewExpression(node) && node.expression.getText() === 'Date') report(node, 'new Date(');
      else if (ts.isCallExpression(node) && ts.isIdentifier(node.expression)) {
        const { text } = node.expression;
        if (forbiddenCalls.has(text) || text === 'Date') report(node, `${text}(`);
      } else if (ts.isStringLiteral(node) && node.text.startsWith('node:')) report(node, node.text);
    });
    return found;
  });
}
