import type { CampaignEvaluation, RunEvaluation, SubjectTracking } from "../contract/evaluation.ts";
import { axes } from "../foundation/tracks.ts";
import { type NamedConfiguration, namedConfigurations } from "./runGroups.ts";
import { plainText, type TableRow, type TextFrame, textTable, wrapText } from "./text/layout.ts";
import { decimalsFor, fixed, noValue, type Spread, spreadOf, spreadText } from "./text/numbers.ts";

const millimetres = 1000;
const heads = [...axes, "norm"] as const;
type Head = (typeof heads)[number];
type JudgedSubject = "vehicle" | "effector";
type Figures = NonNullable<SubjectTracking[JudgedSubject]>;

interface Row {
  readonly label: string;
  readonly cells: readonly (Spread | null)[];
}
interface Block {
  readonly configuration: NamedConfiguration;
  /** used runs, and those of them that have this subject's error in this window */
  readonly used: number;
  readonly runs: number;
  readonly delay: Spread | null;
  readonly rows: readonly Row[];
}

/** Tables of one trajectory: tracking error of the vehicle and of the effector, a block per configuration. */
export function trackingText(evaluation: CampaignEvaluation, trajectory: string, frame: TextFrame): string[] {
  const { width, style } = frame;
  const { settings } = evaluation;
  const stated = plainText(settings.trajectories[trajectory] ?? "");
  const lines = wrapText(`${plainText(trajectory)}${stated === "" ? "" : `: ${stated}`}`, width).map(style.heading);
  const used = evaluation.runs.filter((run) => run.used && run.trajectory === trajectory);
  if (used.length === 0) return [...lines, ...wrapText("No run of this trajectory was used.", width)];
  const window = used.some((run) => run.tracking.cycles !== null) ? "cycles" : "hold";
  const tables = (["vehicle", "effector"] as const)
    .map((subject) => subjectTable(evaluation, { trajectory, subject, window }, width))
    .filter((table) => table !== null);
  if (tables.length === 0)
    return [...lines, ...wrapText("No used run of this trajectory has a tracking error.", width)];
  for (const table of tables) lines.push("", ...table.lines);
  // what holds for both tables is said once
  const remarks = new Set(tables.flatMap((table) => table.remarks));
  for (const remark of remarks) lines.push(...wrapText(remark, width, { first: "", rest: "  " }).map(style.faint));
  return lines;
}

function subjectTable(
  evaluation: CampaignEvaluation,
  { trajectory, subject, window }: { trajectory: string; subject: JudgedSubject; window: "cycles" | "hold" },
  width: number,
): { readonly lines: string[]; readonly remarks: string[] } | null {
  const blocks = namedConfigurations(evaluation).flatMap((configuration): Block[] => {
    const filed = evaluation.runs.filter(
      (run) => run.trajectory === trajectory && run.configuration === configuration.key,
    );
    return filed.length === 0 ? [] : [blockOf(configuration, filed, { subject, window })];
  });
  if (blocks.every(({ runs }) => runs === 0)) return null;
  const noise = noiseFloor(evaluation, subject);
  const decimals = decimalsFor(
    blocks.flatMap(({ rows }) => rows.flatMap(({ cells }) => cells.map((cell) => (cell?.mean ?? 0) * millimetres))),
  );
  const rows: TableRow[] = blocks.flatMap((block) => [
    headingOf(block),
    ...block.rows.map(({ label, cells }) => ({
      label: `  ${label}`,
      cells: cells.map((cell) => spreadText(cell, decimals, millimetres)),
    })),
  ]);
  if (noise !== null)
    rows.push({
      label: "Noise floor, sd",
      cells: noise.map((value) =>
        fixed(value * millimetres, Math.max(decimals, decimalsFor([value * millimetres]) - 1)),
      ),
    });
  const truth = subject === "vehicle" ? evaluation.settings.truth.vehicle : evaluation.settings.truth.effector;
  const caption = `${subject === "vehicle" ? "Vehicle" : "Effector"}: tracking error in the ${window === "cycles" ? "cycle" : "hold"} window, mm; mean over runs ± sd between runs. Truth: motion capture ${plainText(truth ?? "n/a")}.`;
  return {
    lines: [...wrapText(caption, width), ...textTable(heads, rows, width)],
    remarks: trackingRemarks(evaluation, { trajectory, subject, window, blocks }),
  };
}

function blockOf(
  configuration: NamedConfiguration,
  filed: readonly RunEvaluation[],
  { subject, window }: { subject: JudgedSubject; window: "cycles" | "hold" },
): Block {
  const used = filed.filter((run) => run.used);
  const scored = used.filter((run) => run.tracking[window]?.[subject] !== undefined);
  const figures = scored.map((run) => run.tracking[window]![subject] as Figures);
  const row = (label: string, key: "rms" | "bias" | "range"): Row => ({
    label,
    cells: heads.map((head: Head) => spreadOf(figures.map((figure) => figure[head][key]))),
  });
  const rows = figures.length === 0 ? [] : [row("rms", "rms"), row("bias", "bias"), row("range", "range")];
  const splits = window === "cycles" ? scored.map((run) => run.synchronous?.[subject] ?? null) : [];
  if (splits.some((split) => split !== null)) {
    const perAxis = axes.map((axis) => spreadOf(splits.map((split) => split?.[axis].rms)));
    const norm = spreadOf(splits.map((split) => split && Math.hypot(...axes.map((axis) => split[axis].rms))));
    rows.push({ label: "synchronous", cells: [...perAxis, norm] });
  }
  const delay = spreadOf(figures.map((figure) => figure.delay));
  return { configuration, used: used.length, runs: figures.length, delay, rows };
}

function headingOf({ configuration, used, runs, delay }: Block): TableRow {
  if (runs === 0) return { words: `${configuration.name}, n = 0: no used run${used === 0 ? "" : " has this error"}` };
  const some = delay !== null && delay.n < runs ? ` (${delay.n} of ${runs} runs)` : "";
  const shown = delay === null ? "n/a" : `${spreadText(delay, 1, 1000)} ms${some}`;
  return { words: `${configuration.name}, n = ${runs}; response delay ${shown}` };
}

function noiseFloor(evaluation: CampaignEvaluation, subject: JudgedSubject): number[] | null {
  const noise = evaluation.noise?.[subject] ?? null;
  return noise === null ? null : [noise.x, noise.y, noise.z, Math.hypot(noise.x, noise.y, noise.z)];
}

/** What a reader must know of a table of tracking errors, and why some of its numbers are missing. */
function trackingRemarks(
  evaluation: CampaignEvaluation,
  table: {
    readonly trajectory: string;
    readonly subject: "vehicle" | "effector";
    readonly window: "cycles" | "hold";
    readonly blocks: readonly { readonly used: number; readonly runs: number; readonly delay: Spread | null }[];
  },
): string[] {
  const { trajectory, subject, window, blocks } = table;
  const { noise, settings } = evaluation;
  const flown = blocks.filter(({ runs }) => runs > 0);
  const cycles = settings.common_cycles[trajectory] ?? null;
  const seconds = settings.common_hold[trajectory] ?? null;
  const without = blocks.reduce((sum, { used, runs }) => sum + used - runs, 0);
  const remarks: string[] = [];
  if (window === "cycles" && cycles !== null) remarks.push(`Range over the ${cycles} cycles that all used runs have.`);
  if (window === "hold" && seconds !== null)
    remarks.push(`Range over the ${fixed(seconds, 1)} s that all used runs have.`);
  if (without > 0)
    remarks.push(`${without} used ${without === 1 ? "run has" : "runs have"} no ${subject} error in this window.`);
  if (noise === null || noise[subject] === null)
    remarks.push(`Noise floor of the ${subject} n/a: neither static captures nor the flights gave one.`);
  else if (noise.source === "in flight")
    remarks.push("Noise floor estimated in flight, from what is faster than the vehicle can move: no static capture.");
  const residual = largestResidual(evaluation, trajectory, subject);
  if (residual !== null)
    remarks.push(
      `The ${subject} was solved from markers; they fit their declared places to ${fixed(1e3 * residual, 2)} mm (largest of the runs), a measure of a marker's noise.`,
    );
  if (flown.some(({ delay }) => delay === null))
    remarks.push("Response delay n/a: the command moves too little, or two delays fit nearly alike.");
  if (flown.some(({ runs }) => runs === 1)) remarks.push(`± ${noValue}: one run has no spread between runs.`);
  remarks.push(`${noValue}: range is per axis, the norm has none.`);
  return remarks;
}

/** Residual of the body's fit to its markers, metres: the largest of the trajectory's used runs; null where none was solved. */
function largestResidual(
  { runs }: CampaignEvaluation,
  trajectory: string,
  subject: "vehicle" | "effector",
): number | null {
  const found = runs
    .filter((run) => run.used && run.trajectory === trajectory)
    .flatMap(({ markers }) => markers?.[subject]?.residual ?? []);
  return found.length === 0 ? null : Math.max(...found);
}
