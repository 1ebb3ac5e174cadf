import type * as z from "zod";
import { likelyName } from "../../foundation/nearest.ts";
import { listed } from "./fields.ts";
import type { PlaceBook, ProblemList } from "./problems.ts";
import { isList, isMapping, type Path, type TextMapping, type TextTree } from "./textTree.ts";

/** Reads values out of a text tree and notes every problem with its place, so that all are reported at once. */
export class Reading {
  readonly problems: ProblemList;
  readonly #places: PlaceBook;
  /** keys that were meant by misspelled ones: `raidus` stood for `radius`, that it is missing as well helps nobody */
  readonly #meant = new Set<string>();

  constructor(places: PlaceBook, problems: ProblemList) {
    this.#places = places;
    this.problems = problems;
  }

  /** The value as the schema gives it; null where it is faulty, and then the problems are noted. */
  read<S extends z.ZodType>(schema: S, tree: TextTree | undefined, path: Path): z.output<S> | null {
    const result = schema.safeParse(tree);
    if (result.success) return result.data;
    for (const issue of result.error.issues) {
      if (issue.code !== "unrecognized_keys") continue;
      const parent = [...path, ...(issue.path as (string | number)[])];
      for (const key of issue.keys) this.unknownKey([...parent, key], issue.message.split(" "));
    }
    for (const issue of result.error.issues) {
      if (issue.code === "unrecognized_keys") continue;
      const full = [...path, ...(issue.path as (string | number)[])];
      const params = (issue.code === "custom" ? issue.params : undefined) ?? {};
      if (params.missing === true && this.isMeant(full)) continue;
      this.complain(full, issue.message, typeof params.hint === "string" ? params.hint : null);
    }
    return null;
  }

  /** Notes a key that is not known here. */
  unknownKey(path: Path, known: readonly string[]): void {
    const key = String(path[path.length - 1]);
    const near = this.problems.full ? null : likelyName(key, known);
    const hint = near === null ? "leave it out" : `did you mean ${near}?`;
    this.#note(path, "key", `found the unknown key ${JSON.stringify(key)}, expected ${listed(known)}`, hint);
    if (near !== null) this.#meant.add([...path.slice(0, -1), near].join("\0"));
  }

  /** Whether a misspelled key beside it probably meant this one. */
  isMeant(path: Path): boolean {
    return this.#meant.has(path.join("\0"));
  }

  /** Notes a name that is declared nowhere. */
  unknownName(path: Path, name: string, options: { what: string; known: readonly string[] }): void {
    const { what, known } = options;
    const near = this.problems.full ? null : likelyName(name, known);
    const expected = known.length === 0 ? what : `${what}: ${listed(known)}`;
    const hint = near === null ? `declare ${name} or name another` : `did you mean ${near}?`;
    this.complain(path, `found ${JSON.stringify(name)}, expected ${expected}`, hint);
  }

  complain(path: Path, message: string, hint: string | null = null): void {
    this.#note(path, "value", message, hint);
  }

  complainOfKey(path: Path, message: string, hint: string | null = null): void {
    this.#note(path, "key", message, hint);
  }

  /** `file:line:column` */
  place(path: Path): string {
    const { line, column } = this.#places.find(path);
    return `${this.#places.file}:${line}:${column}`;
  }

  #note(path: Path, part: "key" | "value", message: string, hint: string | null): void {
    const where = dotted(path);
    this.problems.add(
      this.#places.file,
      this.#places.find(path, part),
      where === "" ? message : `${where}: ${message}`,
      hint,
    );
  }

  /** The tree as a mapping; notes a problem and returns null where it is none. */
  mapping(tree: TextTree | undefined, path: Path, expected: string): TextMapping | null {
    if (isMapping(tree)) return tree;
    if (tree !== undefined || !this.isMeant(path)) this.complain(path, `found ${found(tree)}, expected ${expected}`);
    return null;
  }
}

function found(tree: TextTree | undefined): string {
  if (tree === undefined || tree === null) return "nothing";
  return isList(tree) ? "a list" : "a text";
}

/** runs#3.log: items are counted from 1, as people do */
export function dotted(path: Path): string {
  return path
    .map((step, index) => (typeof step === "number" ? `#${step + 1}` : index === 0 ? step : `.${step}`))
    .join("");
}
