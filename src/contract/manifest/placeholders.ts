import type { Reading } from "./reading.ts";
import { isList, isMapping, type Path, type TextTree } from "./textTree.ts";

/** How a draft writes what only a person knows: `<LENGTH>`. */
const placeholder = /^<[A-Z][A-Z0-9_]*>$/;

/**
 * Notes every place of a draft that was not filled in. Where a title may be any text, `<TITLE>` would pass for one.
 *
 * @returns whether there was any
 */
export function findPlaceholders(reading: Reading, tree: TextTree, path: Path = []): boolean {
  if (typeof tree === "string" && placeholder.test(tree.trim())) {
    reading.complain(path, `found the placeholder ${tree.trim()}, expected what belongs there`, "fill it in");
    return true;
  }
  const entries: readonly (readonly [string | number, TextTree])[] = isList(tree)
    ? tree.map((entry, index) => [index, entry] as const)
    : isMapping(tree)
      ? Object.entries(tree)
      : [];
  let found = false;
  for (const [step, entry] of entries) {
    if (typeof step === "string" && placeholder.test(step)) {
      reading.complainOfKey([...path, step], `found the placeholder ${step}, expected a name`, "fill it in");
      found = true;
    }
    if (findPlaceholders(reading, entry, [...path, step])) found = true;
  }
  return found;
}
