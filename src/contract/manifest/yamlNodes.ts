import { isAlias, isMap, isPair, isScalar, isSeq, type Node } from "yaml";
import { type PlaceBook, type Position, type ProblemList, stopAt } from "./problems.ts";
import type { TextTree } from "./textTree.ts";

/** Levels of nesting; a manifest needs no more than six. */
export const maxDepth = 40;
/** values after every alias is written out; 10 000 runs of ten keys are some 110 000 */
const maxValues = 1_000_000;

/** The error of nesting beyond `maxDepth`. */
export function tooDeep(file: string, position: Position): Error {
  return stopAt(
    "yaml-depth",
    { file, position },
    `found values nested too deep, expected at most ${maxDepth} levels`,
    "a manifest needs no more than 6 levels; check the brackets",
  );
}

interface Converted {
  readonly tree: TextTree;
  /** values it holds, aliases written out */
  readonly values: number;
}

const nothing: Converted = { tree: null, values: 1 };

/**
 * Turns the nodes of a YAML document into a text tree and notes where they stand. Aliases share the tree of their
 * anchor; what they would expand to is counted, not built.
 */
export class YamlNodes {
  /** null while the anchored value is still being read: an alias to it would contain itself */
  readonly #anchors = new Map<string, Converted | null>();
  readonly #places: PlaceBook;
  readonly #problems: ProblemList;
  readonly #at: (offset: number) => Position;

  constructor(places: PlaceBook, problems: ProblemList, at: (offset: number) => Position) {
    this.#places = places;
    this.#problems = problems;
    this.#at = at;
  }

  /**
   * @param offset  where the node stands if it is empty and says nothing of its place
   * @throws ManifestProblemsError  `yaml-alias` and `yaml-depth`, see `readYamlTree`
   */
  convert(node: unknown, depth: number, offset: number): Converted {
    const start = (node as Node | null)?.range?.[0] ?? offset;
    if (isAlias(node)) return this.#alias(node.source, start);
    const anchor = isScalar(node) || isMap(node) || isSeq(node) ? node.anchor : undefined;
    if (anchor !== undefined) this.#anchors.set(anchor, null);
    const converted = this.#value(node, depth, start);
    if (converted.values > maxValues) {
      throw stopAt(
        "yaml-alias",
        { file: this.#places.file, position: this.#at(start) },
        `found aliases that expand to more than ${maxValues} values, expected a manifest of ordinary size`,
        "write the values out instead of nesting aliases",
      );
    }
    if (anchor !== undefined) this.#anchors.set(anchor, converted);
    return converted;
  }

  #value(node: unknown, depth: number, start: number): Converted {
    if (depth > maxDepth) throw tooDeep(this.#places.file, this.#at(start));
    if (isScalar(node)) {
      const text = String(node.value ?? "");
      const empty = (node.type === "PLAIN" || node.type === undefined) && /^(~|null|Null|NULL|)$/.test(text);
      return empty ? nothing : { tree: text, values: 1 };
    }
    if (isSeq(node)) return this.#sequence(node.items, depth, start);
    if (isMap(node)) return this.#mapping(node.items, depth, start);
    return nothing;
  }

  #alias(name: string, start: number): Converted {
    const target = this.#anchors.get(name);
    if (target !== undefined && target !== null) return target;
    throw stopAt(
      "yaml-alias",
      { file: this.#places.file, position: this.#at(start) },
      target === null
        ? `found alias *${name} inside the value that it stands for, expected no value to contain itself`
        : `found alias *${name}, expected an anchor &${name} before it`,
      "write the value out instead of the alias",
    );
  }

  #sequence(items: readonly unknown[], depth: number, start: number): Converted {
    const tree: TextTree[] = [];
    let values = 1;
    for (const [index, item] of items.entries()) {
      const converted = this.convert(item, depth + 1, start);
      const at = this.#at((item as Node | null)?.range?.[0] ?? start);
      this.#places.note(tree, index, at, at);
      tree.push(converted.tree);
      values += converted.values;
    }
    return { tree, values };
  }

  #mapping(items: readonly unknown[], depth: number, start: number): Converted {
    const tree: Record<string, TextTree> = Object.create(null);
    const merged: TextTree[] = [];
    let values = 1;
    for (const pair of items) {
      if (!isPair(pair)) continue;
      const key = pair.key as Node | null;
      const keyAt = this.#at(key?.range?.[0] ?? start);
      const name = isScalar(key) ? String(key.value ?? "") : null;
      if (name === null || name === "" || name === "__proto__") {
        this.#complain(
          keyAt,
          `found ${name === null ? "a key that is no text" : `the key "${name}"`}, expected a name`,
        );
        continue;
      }
      const converted = this.convert(pair.value, depth + 1, key?.range?.[1] ?? start);
      values += converted.values;
      if (name === "<<" && isScalar(key) && key.type === "PLAIN") {
        merged.push(...(Array.isArray(converted.tree) ? converted.tree : [converted.tree]));
        continue;
      }
      const first = this.#places.noted(tree, name);
      if (first !== null) {
        const { line, column } = first.key;
        this.#complain(keyAt, `found the key "${name}" a second time, expected it once (first at ${line}:${column})`);
        continue;
      }
      tree[name] = converted.tree;
      this.#places.note(
        tree,
        name,
        keyAt,
        this.#at((pair.value as Node | null)?.range?.[0] ?? key?.range?.[0] ?? start),
      );
    }
    for (const source of merged) this.#merge(tree, source, this.#at(start));
    return { tree, values };
  }

  /** YAML 1.1's `<<`: keys that are not there yet; of several sources the first wins. */
  #merge(tree: Record<string, TextTree>, source: TextTree, at: Position): void {
    if (typeof source !== "object" || source === null || Array.isArray(source)) {
      this.#complain(at, "found << with something else than a mapping, expected an alias of a mapping");
      return;
    }
    for (const [name, value] of Object.entries(source)) {
      if (name in tree) continue;
      tree[name] = value;
      const noted = this.#places.noted(source, name);
      if (noted !== null) this.#places.note(tree, name, noted.key, noted.value);
    }
  }

  #complain(position: Position, message: string): void {
    this.#problems.add(this.#places.file, position, message, "each key of a mapping is one plain name, used once");
  }
}
