import { type Document, LineCounter, parseDocument } from "yaml";
import { PlaceBook, type Position, ProblemList, stopAt } from "./problems.ts";
import type { TextTree } from "./textTree.ts";
import { maxDepth, tooDeep, YamlNodes } from "./yamlNodes.ts";

/** A manifest of 10 000 runs has some 2 MB; beyond this it is not a manifest. */
const maxManifestCharacters = 4_000_000;

/**
 * The text of a manifest, fit to be parsed: of sensible size, really text, without a byte order mark.
 *
 * @throws ManifestProblemsError  code `manifest-too-large` over 4 000 000 characters; `manifest-not-text` for NUL
 *   characters or the replacement character that decoding leaves where bytes are not UTF-8
 */
export function cleanText(text: string, file: string): string {
  if (text.length > maxManifestCharacters) {
    throw stopAt(
      "manifest-too-large",
      { file, position: { line: 1, column: 1 } },
      `found ${text.length} characters, expected at most ${maxManifestCharacters}`,
      "name the manifest here, not a log",
    );
  }
  const clean = text.startsWith("\uFEFF") ? text.slice(1) : text;
  const bad = clean.search(/[\0\uFFFD]/);
  if (bad >= 0) {
    const before = clean.slice(0, bad).split("\n");
    const position = { line: before.length, column: before[before.length - 1]!.length + 1 };
    const found = clean[bad] === "\0" ? "a NUL character" : "bytes that are not UTF-8";
    throw stopAt(
      "manifest-not-text",
      { file, position },
      `found ${found}, expected text in UTF-8`,
      "save the file as UTF-8, and check that it is no log",
    );
  }
  return clean;
}

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
  // what comes after the first fault of the syntax is mostly a consequence of it
  const faults = document.errors.length > 0 ? document.errors.slice(0, 1) : document.warnings;
  for (const { code, message, pos } of faults) {
    // how the library reports that its recursion ran out of stack
    if (code === "RESOURCE_EXHAUSTION") throw tooDeep(file, at(pos[0]));
    const tag = code === "TAG_RESOLVE_FAILED";
    problems.add(file, at(pos[0]), `found ${tag ? "an explicit tag" : "faulty YAML"}: ${message}`, yamlHint(code));
  }
  problems.throwIfAny("yaml-syntax");
  const places = new PlaceBook(file);
  const root = new YamlNodes(places, problems, at).convert(document.contents, 0, 0).tree;
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
