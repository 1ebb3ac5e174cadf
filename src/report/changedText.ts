import type { Cell } from "../contract/cell.ts";
import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import { inShown, mostDecimals, unitName } from "../words/amounts.ts";
import { buildText } from "../words/buildText.ts";
import { placeWords } from "../words/places.ts";
import { plainText, type TextFrame, textTable, wrapText } from "./text/layout.ts";
import { shortName } from "./text/nameText.ts";
import { decimalsFor, fixed, noValue } from "./text/numbers.ts";

/** so many lines of one kind are shown, and the rest counted */
const mostLines = 20;

/**
 * What differs between two evaluations: program, files, settings, runs and findings first, since these are what can have
 * moved the verdicts; then each cell of either family, before and after, with how far its difference moved.
 *
 * @returns lines of at most `frame.width` columns; one line that nothing differs, where nothing does
 */
export function changedText(before: CampaignEvaluation, after: CampaignEvaluation, frame: TextFrame): string[] {
  const parts = [
    section("Program", programLines(before, after), frame),
    section("Files", fileLines(before, after), frame),
    section("Set-up and settings", settingLines(before, after), frame),
    section("Runs", runLines(before, after), frame),
    section("Findings on the runs", findingLines(before, after), frame),
    section("Bench", benchLines(before, after), frame),
    cellLines(before, after, frame),
  ].filter((lines) => lines.length > 0);
  if (parts.length === 0) return ["Nothing differs: files, set-up, runs, findings, bench and cells are the same."];
  return parts.flatMap((lines, k) => (k === 0 ? lines : ["", ...lines]));
}

function section(title: string, found: readonly string[], { width, style }: TextFrame): string[] {
  if (found.length === 0) return [];
  const rest = found.length - mostLines;
  const shown = rest > 1 ? [...found.slice(0, mostLines), `and ${rest} more`] : found;
  return [
    style.heading(title),
    ...shown.flatMap((line) => wrapText(plainText(line), width, { first: "  ", rest: "    " })),
  ];
}

function programLines({ tool: was }: CampaignEvaluation, { tool: is }: CampaignEvaluation): string[] {
  const [one, other] = [buildText(was), buildText(is)];
  return one === other ? [] : [`${one} -> ${other}`];
}

function fileLines(before: CampaignEvaluation, after: CampaignEvaluation): string[] {
  const [was, is] = [before, after].map(({ inputs }) => new Map(inputs.map(({ path, sha256 }) => [path, sha256])));
  return union(was!.keys(), is!.keys()).flatMap((path) => {
    if (was!.get(path) === is!.get(path)) return [];
    if (!is!.has(path)) return [`${path}: read before, not read after`];
    return [`${path}: ${was!.has(path) ? "another content" : "not read before"}`];
  });
}

/** Every setting by its path, such as `thresholds.gap_intervals`. */
function settingLines(before: CampaignEvaluation, after: CampaignEvaluation): string[] {
  const [was, is] = [before, after].map(
    ({ settings, title }) => new Map(leaves({ title, ...settings } as unknown as Tree, "")),
  );
  return union(was!.keys(), is!.keys()).flatMap((path) => {
    const [one, other] = [was!.get(path) ?? "not there", is!.get(path) ?? "not there"];
    return one === other ? [] : [`${path}: ${one} -> ${other}`];
  });
}

type Tree = string | number | boolean | null | undefined | readonly Tree[] | { readonly [key: string]: Tree };

function leaves(tree: Tree, path: string): [string, string][] {
  if (tree === undefined) return [];
  if (typeof tree !== "object" || tree === null || Array.isArray(tree)) return [[path, JSON.stringify(tree)]];
  return Object.entries(tree).flatMap(([key, value]) => leaves(value, path === "" ? key : `${path}.${key}`));
}

function runLines(before: CampaignEvaluation, after: CampaignEvaluation): string[] {
  const [was, is] = [before, after].map(({ runs }) => new Map(runs.map((run) => [run.id, run])));
  return union(was!.keys(), is!.keys()).flatMap((id) => {
    const [one, other] = [was!.get(id), is!.get(id)];
    if (other === undefined) return [`${id}: taken away (${filed(one!)})`];
    if (one === undefined) return [`${id}: added (${filed(other)}${other.used ? "" : `, ${use(other)}`})`];
    return [
      ...(filed(one) === filed(other) ? [] : [`${id}: filed as ${filed(one)} -> ${filed(other)}`]),
      ...(use(one) === use(other) ? [] : [`${id}: ${use(one)} -> ${use(other)}`]),
    ];
  });
}

function filed({ configuration, trajectory, block }: RunEvaluation): string {
  return [configuration, trajectory, block].filter((word) => word !== null).join(", ");
}

function use({ used, excluded_because: because }: RunEvaluation): string {
  return used ? "used" : `left out (${because ?? "not used"})`;
}

/** Checks by code and severity: on which runs they are new, and on which no longer there. */
function findingLines(before: CampaignEvaluation, after: CampaignEvaluation): string[] {
  const [was, is] = [before, after].map(findingsOf);
  return union(was!.keys(), is!.keys()).flatMap((finding) => {
    const [one, other] = [was!.get(finding) ?? [], is!.get(finding) ?? []];
    const fresh = other.filter((id) => !one.includes(id));
    const gone = one.filter((id) => !other.includes(id));
    return [
      ...(fresh.length > 0 ? [`${finding}: new on ${fresh.join(", ")}`] : []),
      ...(gone.length > 0 ? [`${finding}: no longer on ${gone.join(", ")}`] : []),
    ];
  });
}

function findingsOf({ runs }: CampaignEvaluation): Map<string, string[]> {
  const found = new Map<string, string[]>();
  for (const { id, checks } of runs)
    for (const { code, severity } of checks) {
      const own = found.get(`${code} (${severity})`) ?? [];
      if (!own.includes(id)) own.push(id);
      found.set(`${code} (${severity})`, own);
    }
  return found;
}

/** The bench as a whole: its cells are a family of their own, and its page shows them. */
function benchLines({ bench: was }: CampaignEvaluation, { bench: is }: CampaignEvaluation): string[] {
  if (JSON.stringify(was) === JSON.stringify(is)) return [];
  const of = (bench: CampaignEvaluation["bench"]): string =>
    bench === null ? "none" : `${bench.runs.length} runs, ${bench.cells.length} cells`;
  return [`${of(was)} -> ${of(is)}`];
}

/** The cells of either family, where verdict, difference, p or count differ; how many are as they were. */
function cellLines(before: CampaignEvaluation, after: CampaignEvaluation, { width, style }: TextFrame): string[] {
  const [was, is] = [before, after].map(
    ({ cells }) => new Map(cells.filter((cell) => cell.in_family).map((cell) => [placeKey(cell), cell])),
  );
  const keys = union(was!.keys(), is!.keys());
  const moved = keys.filter((key) => !alike(was!.get(key), is!.get(key)));
  if (moved.length === 0) return [];
  const rows = moved.map((key) => {
    const [one, other] = [was!.get(key), is!.get(key)];
    const cell = (other ?? one)!;
    const { unit } = cell;
    const numbers = [one, other].map((side) => (side?.difference == null ? null : inShown(side.difference, unit)));
    const decimals = Math.min(decimalsFor(numbers.filter((value) => value !== null)), mostDecimals(unit));
    const text = (value: number | null | undefined): string => (value == null ? noValue : fixed(value, decimals));
    const [a, b] = numbers;
    return {
      place: `${shortName(cell.trajectory)}, ${placeWords(cell.subject, [cell.axis], cell.judged_in)}, ${unitName(unit)}`,
      cells: [text(a), text(b), text(a == null || b == null ? null : b - a)],
      verdict: verdictChange(one, other),
    };
  });
  const same = keys.length - moved.length;
  return [
    style.heading("Cells of the family: difference before, after, and how far it moved"),
    ...textTable(
      ["before", "after", "moved"],
      rows.flatMap(({ place, cells, verdict }) => [
        { label: `  ${place}`, cells },
        { words: verdict, indent: 4 },
      ]),
      width,
    ),
    ...(same > 0 ? [`  ${same} of ${keys.length} cells are as they were`] : []),
  ];
}

const placeKey = ({ trajectory, subject, axis, metric, judged_in }: Cell): string =>
  JSON.stringify([trajectory, subject, axis, metric, judged_in]);

function alike(one: Cell | undefined, other: Cell | undefined): boolean {
  return JSON.stringify(judged(one)) === JSON.stringify(judged(other));
}

const judged = (cell: Cell | undefined) =>
  cell && [cell.verdict, cell.difference, cell.ci95, cell.p_family, cell.baseline.n, cell.candidate.n];

function verdictChange(one: Cell | undefined, other: Cell | undefined): string {
  if (one === undefined) return `not of the family before; now ${verdictOf(other!)}`;
  if (other === undefined) return `${verdictOf(one)}; not of the family any more`;
  const [was, is] = [verdictOf(one), verdictOf(other)];
  return was === is ? `${is}, as before` : `${was} -> ${is}`;
}

function verdictOf({ verdict, baseline, candidate, fragile }: Cell): string {
  return `${verdict ?? "no verdict"} (${baseline.n} v ${candidate.n}${fragile.length > 0 ? ", fragile" : ""})`;
}

function union(one: Iterable<string>, other: Iterable<string>): string[] {
  return [...new Set([...one, ...other])];
}
