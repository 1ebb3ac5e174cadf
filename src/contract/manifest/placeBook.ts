import type { Path } from "./textTree.ts";

/** A place in a text, both counted from 1. */
export interface Position {
  readonly line: number;
  readonly column: number;
}

/** Where every key and value of a text tree was written. */
export class PlaceBook {
  readonly file: string;
  readonly #entries = new WeakMap<object, Map<string | number, { key: Position; value: Position }>>();
  #root: { tree: unknown; position: Position } = { tree: null, position: { line: 1, column: 1 } };

  constructor(file: string) {
    this.file = file;
  }

  /** Names the tree that paths start from. */
  setRoot(tree: unknown, position: Position): void {
    this.#root = { tree, position };
  }

  /** Notes where one entry of a mapping or list stands. */
  note(container: object, step: string | number, key: Position, value: Position): void {
    let entries = this.#entries.get(container);
    if (entries === undefined) {
      entries = new Map();
      this.#entries.set(container, entries);
    }
    entries.set(step, { key, value });
  }

  /** The noted places of one entry, or null. */
  noted(container: object, step: string | number): { key: Position; value: Position } | null {
    return this.#entries.get(container)?.get(step) ?? null;
  }

  /** The place of a path; where its end was never written, the place of the deepest part that was. */
  find(path: Path, part: "key" | "value" = "value"): Position {
    let { tree, position } = this.#root;
    for (const [index, step] of path.entries()) {
      if (typeof tree !== "object" || tree === null) return position;
      const entry = this.noted(tree, step);
      if (entry === null) return position;
      position = part === "key" && index === path.length - 1 ? entry.key : entry.value;
      tree = (tree as Record<string | number, unknown>)[step];
    }
    return position;
  }
}
