import { type Document, isAlias, isMap, isPair, isScalar, isSeq, LineCounter, type Node, parseDocument } from "yaml";
import { cleanText } from "./cleanText.ts";
import { PlaceBook, type Position } from "./placeBook.ts";
import { ProblemList, stopAt } from "./problems.ts";
import type { TextTree } from "./textTree.ts";

const maxDepth = 40;
/** values after every alias is written out; 10 000 runs of ten keys are some 110 000 */
const maxValues = 1_000_000;

/** A tree and where its parts stand. */
export interface PlacedTree {
  readonly root: TextTree;
  readonly places: PlaceBook;
}

/**
 * Reads YAML into a text tree. Anchors, aliases and `<<` merges work; their cost is bounded by counting what they
 * would expand to, without expanding it.
 *
 * @throws ManifestProblemsError  `manifest-too-large`, `manifest-not-text` (see `cleanText`); `yaml-syntax` for text that is no
 *   YAML, repeated keys, keys that are not plain text and explicit tags; `yaml-alias` for an alias without anchor, one
 *   that contains itself, or aliases that expand beyond 1 000 000 values; `yaml-depth` for nesting deeper than 40
 */
export function readYamlTree(text: string, file: string): PlacedTree {
  const clean = cleanText(text, file);
  const lines = new LineCounter();
  refuseBrackets(clean, file);
  const document = parse(clean, file, lines);
  const at = (offset: number): Position => {
    const { line, col } = lines.linePos(offset);
    return { line: Math.max(1, line), column: Math.max(1, col) };
  };
  const problems = new ProblemList();
  for (const { code, message, pos } of [...document.errors, ...document.warnings]) {
    // how the library reports that its recursion ran out of stack
    if (code === "RESOURCE_EXHAUSTION") throw tooDeep(file, at(pos[0]));
    const tag = code === "TAG_RESOLVE_FAILED";
    problems.add(file, at(pos[0]), `found ${tag ? "an explicit tag" : "faulty YAML"}: ${message}`, yamlHint(code));
  }
  problems.throwIfAny("yaml-syntax");
  const places = new PlaceBook(file);
  const converter = new Converter(places, problems, at);
  const root = converter.convert(document.contents, 0, 0).tree;
  problems.throwIfAny("yaml-syntax");
  places.setRoot(root, at(document.contents?.range?.[0] ?? 0));
  return { root, places };
}

/** The library gives up on deep nesting, too, but takes seconds; a row of opening brackets is seen at once. */
function refuseBrackets(text: string, file: string): void {
  const at = text.search(new RegExp(`(?:[[{]\\s*){${maxDepth + 1}}`));
  if (at < 0) return;
  const before = text.slice(0, at).split("\n");
  throw tooDeep(file, { line: before.length, column: before[before.length - 1]!.length + 1 });
}

function parse(text: string, file: string, lineCounter: LineCounter): Document {
  try {
    // failsafe: scalars stay text; keys are checked below, in linear time and with the place of the first
    return parseDocument(text, { schema: "failsafe", lineCounter, prettyErrors: false, uniqueKeys: false });
  } catch (error) {
    if (error instanceof RangeError) throw tooDeep(file, { line: 1, column: 1 });
    throw error;
  }
}

function yamlHint(code: string): string {
  if (code.includes("TAB")) return "indent with spaces, not tabs";
  if (code === "TAG_RESOLVE_FAILED") return "leave out tags that begin with !";
  if (code === "MULTIPLE_DOCS") return "keep one document in the file: take out the line ---";
  return "check indentation, brackets and commas; put text that holds ': ' or ' #' in quotes";
}

function tooDeep(file: string, position: Position): Error {
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

class Converter {
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
