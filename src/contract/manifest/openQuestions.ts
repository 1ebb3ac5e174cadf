import { isMap, isScalar, isSeq, LineCounter, type Node, parseDocument, type Scalar, stringify } from "yaml";
import type { Path } from "./textTree.ts";

/** How a draft writes what only a person knows: `<LENGTH>`. */
export function isPlaceholder(text: string): boolean {
  return /^<[A-Z][A-Z0-9_]*>$/.test(text.trim());
}

/** What kind of answer a place of a draft takes, and so how it is asked. */
export const answerKinds = ["text", "choice", "runs", "point", "length", "mass", "time", "count"] as const;
export type AnswerKind = (typeof answerKinds)[number];

/** A place that a draft left open: what only a person knows. */
export interface OpenQuestion {
  readonly path: Path;
  /** as the draft writes it, such as `<TOOL_POINT>` */
  readonly placeholder: string;
  /** in the manifest, from 1 */
  readonly line: number;
  /** what the draft says beside it; "" where it says nothing */
  readonly remark: string;
  readonly kind: AnswerKind;
  /** of a choice and of runs; else empty */
  readonly choices: readonly string[];
  /** what the draft says of each choice, such as "circle-yz, 2025-10-14 08:10"; "" where it says nothing */
  readonly details: readonly string[];
  /** first and one past the last character in the text */
  readonly range: readonly [number, number];
}

/** By the word between < and >, else by the key that it stands under. */
const kinds: Readonly<Record<string, AnswerKind>> = {
  length: "length",
  smallest_difference: "length",
  radius: "length",
  stroke: "length",
  tolerance: "length",
  mass: "mass",
  added_mass: "mass",
  time: "time",
  offset: "time",
  period: "time",
  duration: "time",
  count: "count",
  cycles: "count",
  tool_point: "point",
  body_point: "point",
  arm_base: "point",
  runs: "runs",
  plane: "choice",
  axis: "choice",
  world: "choice",
  baseline: "choice",
  candidate: "choice",
};

const words: Readonly<Record<string, readonly string[]>> = {
  plane: ["xy", "xz", "yz"],
  axis: ["x", "y", "z"],
  world: ["ned", "frd"],
};

/**
 * The questions that a draft leaves open, in the order of the file; none where the text is no YAML: that is said elsewhere.
 * Only values are asked for; a name of a key that was left open is filled in by hand.
 */
export function openQuestions(text: string): OpenQuestion[] {
  const lines = new LineCounter();
  const start = text.startsWith("\uFEFF") ? 1 : 0;
  const body = text.slice(start);
  const { contents, errors } = parseDocument(body, { schema: "failsafe", lineCounter: lines });
  if (errors.length > 0) return [];
  const configurations = keysOf(contents, "configurations");
  const runs = runsOf(contents);
  const open: { scalar: Scalar; path: Path }[] = [];
  const rows = body.split(/\r?\n/);
  collect(contents, [], open);
  return open.map(({ scalar, path }) => {
    const placeholder = String(scalar.value).trim();
    const [from, to] = scalar.range!;
    const line = lines.linePos(from).line;
    const beside = open.filter(({ scalar: other }) => lines.linePos(other.range![0]).line === line);
    const at = beside.findIndex((other) => other.scalar === scalar);
    const key = placeholder.slice(1, -1).toLowerCase();
    const known = key in kinds ? key : String(path.findLast((step) => typeof step === "string"));
    const isRuns = kinds[known] === "runs";
    const choices = isRuns ? runs.map(({ name }) => name) : (words[known] ?? configurations);
    const kind = kinds[known] ?? "text";
    const isChosen = (kind === "choice" || kind === "runs") && choices.length > 0;
    return {
      path,
      placeholder,
      line,
      remark: remarkAt(rows[line - 1]!, { at, of: beside.length }),
      kind: isChosen || (kind !== "choice" && kind !== "runs") ? kind : "text",
      choices: isChosen ? choices : [],
      details: isChosen ? choices.map((_, k) => (isRuns ? runs[k]!.detail : "")) : [],
      range: [start + from, start + to],
    };
  });
}

/**
 * The text with answers in the places of their questions. Everything else stays as it is, byte for byte: comments, order, quotes,
 * line ends.
 *
 * @param answers  a text, or a list of texts, in the words of a manifest: "1.5 mm", ["0 mm", "0 mm", "-45 mm"]
 * @returns the new text, and where in it each answer stands
 */
export function withAnswers(
  text: string,
  answers: readonly { readonly question: OpenQuestion; readonly answer: string | readonly string[] }[],
): { readonly text: string; readonly ranges: readonly (readonly [number, number])[] } {
  const inOrder = [...answers].sort((a, b) => a.question.range[0] - b.question.range[0]);
  let made = "";
  let read = 0;
  const ranges = new Map<OpenQuestion, readonly [number, number]>();
  for (const { question, answer } of inOrder) {
    const [from, to] = question.range;
    made += text.slice(read, from);
    const words = typeof answer === "string" ? written(answer) : `[${answer.map(written).join(", ")}]`;
    ranges.set(question, [made.length, made.length + words.length]);
    made += words;
    read = to;
  }
  return { text: made + text.slice(read), ranges: answers.map(({ question }) => ranges.get(question)!) };
}

/** As YAML that stands within brackets too; a bare number stays bare, for a manifest reads it as it is written. */
function written(text: string): string {
  if (/^[+-]?\d+(\.\d+)?$/.test(text)) return text;
  const list = stringify([text], { collectionStyle: "flow", flowCollectionPadding: false, lineWidth: 0 });
  return list.trimEnd().slice(1, -1);
}

function collect(node: unknown, path: Path, open: { scalar: Scalar; path: Path }[]): void {
  // an alias stands for what is asked where its anchor is
  if (isScalar(node) && typeof node.value === "string" && isPlaceholder(node.value) && node.range) {
    open.push({ scalar: node, path });
  } else if (isSeq(node)) {
    for (const [k, item] of node.items.entries()) collect(item, [...path, k], open);
  } else if (isMap(node)) {
    for (const { key, value } of node.items) collect(value, [...path, isScalar(key) ? String(key.value) : ""], open);
  }
}

/** What a draft says at the end of a line; of a line with several questions the part that is this one's. */
function remarkAt(line: string, { at, of }: { readonly at: number; readonly of: number }): string {
  const remark = (/\s#\s(.*)$/.exec(line)?.[1] ?? "").trim();
  const parts = remark.split("; ");
  return parts.length === of ? parts[at]! : remark;
}

function keysOf(contents: Node | null, section: string): string[] {
  const found = isMap(contents) ? contents.get(section) : null;
  return isMap(found) ? found.items.flatMap(({ key }) => (isScalar(key) ? [String(key.value)] : [])) : [];
}

/** How a list of runs may call each, by its id, else by its log without folder and ending; and what was flown, and when. */
function runsOf(contents: Node | null): { readonly name: string; readonly detail: string }[] {
  const found = isMap(contents) ? contents.get("runs") : null;
  if (!isSeq(found)) return [];
  const calls = found.items.flatMap((run) => {
    if (!isMap(run)) return [];
    const said = ["trajectory", "started"].map((key) => String(run.get(key) ?? ""));
    const detail = said
      .filter((text) => text !== "" && !isPlaceholder(text))
      .map((text) => text.replace(/^(\d{4}-\d\d-\d\d)T(\d\d:\d\d).*$/, "$1 $2"))
      .join(", ");
    const id = run.get("id");
    if (typeof id === "string") return [{ short: id, whole: id, detail }];
    const logs = run.get("log") ?? run.get("logs");
    const first = isMap(logs) ? logs.items[0]?.value : logs;
    const whole = isSeq(first) ? first.get(0) : isScalar(first) ? first.value : first;
    if (typeof whole !== "string") return [];
    return [{ short: (whole.split(/[/\\]/).at(-1) ?? whole).replace(/(?<=.)\.[^.]*$/, ""), whole, detail }];
  });
  const isAlone = (short: string): boolean => calls.filter((call) => call.short === short).length === 1;
  return calls.map(({ short, whole, detail }) => ({ name: isAlone(short) ? short : whole, detail }));
}
