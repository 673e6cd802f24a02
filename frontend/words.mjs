// The texts that the scripts say, read out of their sources: first arguments of say(...) and toSay(...).
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import ts from "typescript";

const TELLERS = new Set(["say", "toSay"]);

/** Every text said in a source; `what` of each that is not written out is told. */
export function textsOf(name, source) {
  const file = ts.createSourceFile(name, source, ts.ScriptTarget.ES2022, true);
  const texts = [];
  const visit = (node) => {
    if (ts.isCallExpression(node) && ts.isIdentifier(node.expression) && TELLERS.has(node.expression.text)) {
      const [first] = node.arguments;
      if (first && ts.isStringLiteralLike(first)) texts.push(first.text);
      else if (
        first &&
        !(ts.isIdentifier(first) || ts.isPropertyAccessExpression(first) || ts.isElementAccessExpression(first))
      ) {
        const { line } = file.getLineAndCharacterOfPosition(node.getStart());
        throw new Error(
          `${name}:${line + 1}: say() takes one text that is written out, or a constant marked by toSay()`,
        );
      }
    }
    ts.forEachChild(node, visit);
  };
  visit(file);
  return texts;
}

/** Every text said by the scripts in a folder, sorted. */
export function textsIn(folder) {
  const files = readdirSync(folder, { recursive: true }).filter((name) => /(?<!\.test|\.d)\.ts$/.test(name));
  const texts = files.flatMap((name) => textsOf(name, readFileSync(join(folder, name), "utf8")));
  return [...new Set(texts)].sort();
}
