import { parseAst } from "rolldown/parseAst";

/**
 * Every small change of a TypeScript file that its tests should notice: one operator, number, condition or statement each.
 *
 * Left alone are types, messages (templates and what is thrown) and `??`, whose right side mostly stands for what the compiler cannot
 * see. The end of a comparison (`<` for `<=`) is changed only where whole numbers are compared: measured values never meet.
 *
 * @param {string} text
 * @returns {{ start: number, end: number, text: string, line: number, what: string }[]} replacements, one mutant each
 */
export function mutantsOf(text) {
  const mutants = [];
  const add = (start, end, replacement) =>
    mutants.push({
      start,
      end,
      text: replacement,
      line: text.slice(0, start).split("\n").length,
      what: `${oneLine(text.slice(start, end))} -> ${oneLine(replacement)}`,
    });
  const source = (node) => text.slice(node.start, node.end);
  /** Another operator between the same sides, brackets and all. */
  const operated = ({ start, end, left, right, operator }, other) => {
    const at = text.indexOf(operator, left.end);
    if (at >= right.start) throw new Error(`found no ${operator} in ${text.slice(start, end)}`);
    return [text.slice(start, at), other, text.slice(at + operator.length, end)];
  };
  const inside = {
    BinaryExpression: (node) => {
      const others = opposite[node.operator] === undefined ? [] : [opposite[node.operator]];
      if (node.operator in boundary && (isWhole(node.left) || isWhole(node.right)))
        others.push(boundary[node.operator]);
      for (const other of others) add(node.start, node.end, `(${operated(node, other).join("")})`);
    },
    LogicalExpression: (node) => {
      const other = { "&&": "||", "||": "&&" }[node.operator];
      if (other === undefined) return;
      const [left, , right] = operated(node, other);
      add(node.start, node.end, `((${left}) ${other} (${right}))`);
    },
    AssignmentExpression: (node) => {
      const other = { "+=": "-=", "-=": "+=", "*=": "/=", "/=": "*=" }[node.operator];
      if (other !== undefined) add(node.start, node.end, operated(node, other).join(""));
    },
    UnaryExpression: (node) => {
      if (node.operator === "!" || node.operator === "-") add(node.start, node.end, `(${source(node.argument)})`);
    },
    ConditionalExpression: ({ test }) => add(test.start, test.end, `!(${source(test)})`),
    IfStatement: ({ test }) => add(test.start, test.end, "false"),
    Literal: (node) => {
      if (typeof node.value !== "number") return;
      add(node.start, node.end, String(Number.isInteger(node.value) ? node.value + 1 : 2 * node.value));
    },
    CallExpression: ({ callee }) => {
      const other = { "Math.min": "Math.max", "Math.max": "Math.min", "Math.floor": "Math.ceil" }[source(callee)];
      if (other !== undefined) add(callee.start, callee.end, other);
    },
    ExpressionStatement: (node) => add(node.start, node.end, ";"),
  };
  walk(parseAst(text, { lang: "ts" }), (node) => inside[node.type]?.(node));
  return mutants;
}

const opposite = {
  "+": "-",
  "-": "+",
  "*": "/",
  "/": "*",
  "%": "*",
  "**": "*",
  "<": ">=",
  "<=": ">",
  ">": "<=",
  ">=": "<",
  "===": "!==",
  "!==": "===",
};
const boundary = { "<": "<=", "<=": "<", ">": ">=", ">=": ">" };

/** Whole numbers: a length, a literal, or a name that loops count with. */
function isWhole({ type, value, name, property }) {
  if (type === "Literal") return Number.isInteger(value) && value !== 0;
  if (type === "MemberExpression") return property.name === "length";
  return type === "Identifier" && /^(i|j|k|n|count)$/.test(name);
}

const wrappers = new Set(["TSNonNullExpression", "TSAsExpression", "TSSatisfiesExpression"]);
const leftAlone = new Set(["ThrowStatement", "TemplateLiteral", "ImportDeclaration"]);

function walk(node, visit) {
  if (Array.isArray(node)) for (const one of node) walk(one, visit);
  if (node === null || typeof node !== "object" || typeof node.type !== "string") return;
  if (wrappers.has(node.type)) return walk(node.expression, visit);
  if (node.type.startsWith("TS") || leftAlone.has(node.type)) return;
  visit(node);
  for (const [key, value] of Object.entries(node)) {
    // the name of a property is no value
    if (key === "key" && !node.computed) continue;
    if (value !== null && typeof value === "object") walk(value, visit);
  }
}

const oneLine = (text) => {
  const line = text.replace(/\s+/g, " ");
  return line.length > 90 ? `${line.slice(0, 87)}...` : line;
};
