import { ManifestError } from "../../foundation/errors.ts";
import type { Path } from "./textTree.ts";

/** One thing wrong with a manifest. */
export interface Problem {
  /** `file:line:column` */
  readonly place: string;
  /** what was found and what was expected */
  readonly message: string;
  readonly hint: string | null;
}

const listed = 20;
/** beyond this a file is wrong as a whole, and looking for likely names in it costs more than it tells */
const mostKept = 1000;

/** Everything wrong with a manifest at once. `place` and `hint` are those of the first problem. */
export class ManifestProblemsError extends ManifestError {
  readonly problems: readonly Problem[];

  constructor(code: string, problems: readonly Problem[]) {
    const first = problems[0];
    super(code, problemText(problems), { place: first?.place ?? null, hint: first?.hint ?? null });
    this.problems = problems;
  }
}

function problemText(problems: readonly Problem[]): string {
  const lines = problems
    .slice(0, listed)
    .map(({ place, message, hint }) => `${place}: ${message}${hint === null ? "" : ` (hint: ${hint})`}`);
  const rest = problems.length - listed;
  if (rest > 0) lines.push(`and ${rest} more`);
  return lines.join("\n");
}

/** Collects problems from several files, in the order of their places. */
export class ProblemList {
  readonly #found: { file: string; position: Position; problem: Problem }[] = [];

  #count = 0;

  get count(): number {
    return this.#count;
  }

  /** Further problems are only counted. */
  get full(): boolean {
    return this.#found.length >= mostKept;
  }

  add(file: string, position: Position, message: string, hint: string | null = null): void {
    this.#count++;
    if (this.full) return;
    const place = `${file}:${position.line}:${position.column}`;
    this.#found.push({ file, position, problem: { place, message, hint } });
  }

  /** @throws ManifestProblemsError where anything was found */
  throwIfAny(code = "manifest-invalid"): void {
    if (this.#found.length === 0) return;
    const files = [...new Set(this.#found.map(({ file }) => file))];
    const ordered = [...this.#found].sort(
      (a, b) =>
        files.indexOf(a.file) - files.indexOf(b.file) ||
        a.position.line - b.position.line ||
        a.position.column - b.position.column,
    );
    throw new ManifestProblemsError(
      code,
      ordered.map(({ problem }) => problem),
    );
  }
}

/** A single problem that makes reading on pointless. */
export function stopAt(
  code: string,
  place: { file: string; position: Position },
  message: string,
  hint: string,
): ManifestProblemsError {
  const { file, position } = place;
  return new ManifestProblemsError(code, [{ place: `${file}:${position.line}:${position.column}`, message, hint }]);
}

/** A value a field cannot accept; the reading that called the field adds the place. Never leaves this folder. */
export class Complaint extends Error {
  readonly hint: string | null;
  /** the value is not there at all */
  readonly missing: boolean;

  constructor(message: string, options: { hint?: string | null; missing?: boolean } = {}) {
    super(message);
    this.name = "Complaint";
    this.hint = options.hint ?? null;
    this.missing = options.missing ?? false;
  }
}

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
