/**
 * A document as written: every scalar is still its text, so `1.10` stays `1.10`, a bare number can be stated
 * from a quantity, and YAML and CSV meet in one shape. null: nothing written.
 */
export type TextTree = string | null | readonly TextTree[] | TextMapping;
export interface TextMapping {
  readonly [key: string]: TextTree;
}

/** From the root to a value: keys and list indices. */
export type Path = readonly (string | number)[];

export function isMapping(tree: TextTree | undefined): tree is TextMapping {
  return typeof tree === "object" && tree !== null && !Array.isArray(tree);
}

export function isList(tree: TextTree | undefined): tree is readonly TextTree[] {
  return Array.isArray(tree);
}

/** What was found, short enough for a message whatever its size. */
export function describeFound(tree: unknown): string {
  if (tree === undefined || tree === null) return "nothing";
  if (Array.isArray(tree)) return tree.length === 1 ? "a list of 1 item" : `a list of ${tree.length} items`;
  if (typeof tree === "object") return "a mapping";
  const text = String(tree);
  return JSON.stringify(text.length > 60 ? `${text.slice(0, 57)}...` : text);
}
