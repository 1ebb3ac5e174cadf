import { csvFormatRows } from "d3-dsv";

import type { BenchCell, BenchEvaluation } from "../../contract/benchEvaluation.ts";
import type { Cell, CellSide } from "../../contract/cell.ts";
import type { CostFigure } from "../../contract/costs.ts";
import {
  type CampaignEvaluation,
  pairsOf,
  type RunEvaluation,
  type TrackingFigures,
} from "../../contract/evaluation.ts";
import { csvField } from "../../foundation/csvField.ts";
import { axes, subjects } from "../../foundation/tracks.ts";
import { costRows } from "../../words/costWords.ts";

type Value = string | number | boolean | null;

/** Columns of a table: heading, with its unit, and value of a row. */
type Columns<T> = readonly (readonly [string, (row: T) => Value])[];

const list = (values: readonly (string | number)[]): string => values.join("; ");

function table<T>(columns: Columns<T>, rows: readonly T[]): string {
  const body = rows.map((row) => columns.map(([, value]) => csvField(value(row))));
  return `${csvFormatRows([columns.map(([heading]) => heading), ...body])}\n`;
}

const sideColumns = (name: "baseline" | "candidate"): Columns<Cell> => {
  const of = (pick: (side: CellSide) => Value) => (cell: Cell) => pick(cell[name]);
  return [
    [`${name} runs`, of(({ n }) => n)],
    [`${name} mean`, of(({ mean }) => mean)],
    [`${name} sd`, of(({ sd }) => sd)],
    [`${name} values`, of(({ values }) => list(values))],
    [`${name} run ids`, of(({ runs }) => list(runs))],
  ];
};

const cellColumns: Columns<Cell> = [
  ["trajectory", (cell) => cell.trajectory],
  ["subject", (cell) => cell.subject],
  ["axis", (cell) => cell.axis],
  ["judged in", (cell) => cell.judged_in],
  ["metric", (cell) => cell.metric],
  ["unit", (cell) => cell.unit],
  ["in family", (cell) => cell.in_family],
  ["verdict", (cell) => cell.verdict],
  ["verdict with excluded runs", (cell) => cell.verdict_all_runs],
  ["doubted for", (cell) => list(cell.doubts)],
  ["fragile", (cell) => list(cell.fragile)],
  ["difference", (cell) => cell.difference],
  ["ratio", (cell) => (cell.ratio_ci95 === null ? null : cell.ratio)],
  ["ratio 95 % interval from", (cell) => cell.ratio_ci95?.[0] ?? null],
  ["ratio 95 % interval to", (cell) => cell.ratio_ci95?.[1] ?? null],
  ["95 % interval from", (cell) => cell.ci95?.[0] ?? null],
  ["95 % interval to", (cell) => cell.ci95?.[1] ?? null],
  ["90 % interval from", (cell) => cell.ci90?.[0] ?? null],
  ["90 % interval to", (cell) => cell.ci90?.[1] ?? null],
  ["smallest difference", (cell) => cell.smallest_difference],
  ["method", (cell) => cell.method],
  ["standard error", (cell) => cell.se],
  ["degrees of freedom", (cell) => cell.df],
  ["p", (cell) => cell.p],
  ["p among family", (cell) => cell.p_family],
  ["p permutation", (cell) => cell.p_permutation],
  ["p least", (cell) => cell.p_least],
  ["p equivalence", (cell) => cell.p_equivalence],
  ...sideColumns("baseline"),
  ...sideColumns("candidate"),
  ["pair limit", (cell) => cell.pair?.limit ?? null],
  ["runs needed low", (cell) => cell.runs_needed?.low ?? null],
  ["runs needed middle", (cell) => cell.runs_needed?.middle ?? null],
  ["runs needed high", (cell) => cell.runs_needed?.high ?? null],
];

/** Of looks that are paid for. */
const lookColumns: Columns<Cell> = [
  ["share flown", ({ look }) => look?.fractions.at(-1) ?? null],
  ["look costs", ({ look }) => look?.cost ?? null],
  ["spent so far", ({ look }) => look?.spent ?? null],
  ["p to be below", ({ look }) => look?.threshold ?? null],
  ["p over all looks", ({ look }) => look?.entered ?? null],
  ["claimed at share flown", ({ look }) => look?.claimed?.fraction ?? null],
  ["chance left", ({ look }) => look?.chance ?? null],
];

/**
 * The cells as CSV, one a row, SI: values, differences and intervals in the unit of their row. Where several pairs of configurations
 * are judged, all of them, the pair in the first two columns.
 */
export function cellsTable(evaluation: CampaignEvaluation): string {
  const pairs = pairsOf(evaluation);
  const paid = evaluation.cells.some(({ look }) => look !== undefined);
  const own = [...cellColumns, ...(paid ? lookColumns : [])];
  if (pairs.length === 1) return table(own, evaluation.cells);
  const rows = pairs.flatMap(({ settings, cells }) => cells.map((cell) => ({ settings, cell })));
  const columns: Columns<(typeof rows)[number]> = [
    ["candidate", ({ settings }) => settings.candidate],
    ["baseline", ({ settings }) => settings.baseline],
    ...own.map(([heading, value]) => [heading, ({ cell }: (typeof rows)[number]) => value(cell)] as const),
  ];
  return table(columns, rows);
}

interface RunFigures {
  readonly run: RunEvaluation;
  readonly window: string;
  readonly subject: string;
  readonly axis: string;
  readonly delay: number | null;
  readonly figures: TrackingFigures | null;
  readonly synchronous: number | null;
}

const runColumns: Columns<RunFigures> = [
  ["run", ({ run }) => run.id],
  ["configuration", ({ run }) => run.configuration],
  ["trajectory", ({ run }) => run.trajectory],
  ["block", ({ run }) => run.block],
  ["used", ({ run }) => run.used],
  ["excluded because", ({ run }) => run.excluded_because],
  ["checks", ({ run }) => list(run.checks.map(({ code, severity }) => `${code} (${severity})`))],
  ["battery", ({ run }) => run.battery],
  ["take-off mass (kg)", ({ run }) => run.takeoff_mass],
  ["window", ({ window }) => window],
  ["subject", ({ subject }) => subject],
  ["axis", ({ axis }) => axis],
  [
    "judged in",
    ({ run, subject }) => (subject === "arm" ? "vehicle" : run.heading?.taken_out == null ? "world" : "heading"),
  ],
  ["bias (m)", ({ figures }) => figures?.bias ?? null],
  ["sd (m)", ({ figures }) => figures?.sd ?? null],
  ["rms (m)", ({ figures }) => figures?.rms ?? null],
  ["mean absolute (m)", ({ figures }) => figures?.mean_abs ?? null],
  ["95th percentile (m)", ({ figures }) => figures?.p95 ?? null],
  ["maximum (m)", ({ figures }) => figures?.max_abs ?? null],
  ["range (m)", ({ figures }) => figures?.range ?? null],
  ["delay (s)", ({ delay }) => delay],
  ["rms, delay removed (m)", ({ figures }) => figures?.rms_delay_removed ?? null],
  ["synchronous rms (m)", ({ synchronous }) => synchronous],
];

/** The runs' tracking figures as CSV, SI: one row per run, window, subject and axis; one row for a run without figures. */
export function runsTable({ runs }: Pick<CampaignEvaluation, "runs">): string {
  return table(runColumns, runs.flatMap(figuresOf));
}

interface CostFigures {
  readonly configuration: string;
  readonly what: string;
  readonly figure: CostFigure;
}

const costColumns: Columns<CostFigures> = [
  ["configuration", ({ configuration }) => configuration],
  ["figure", ({ what }) => what],
  ["value (SI)", ({ figure }) => figure.value],
  ["95 % interval from", ({ figure }) => figure.ci95?.[0] ?? null],
  ["95 % interval to", ({ figure }) => figure.ci95?.[1] ?? null],
  ["range from", ({ figure }) => figure.range?.[0] ?? null],
  ["range to", ({ figure }) => figure.range?.[1] ?? null],
  ["source", ({ figure }) => figure.source],
];

/** What the mass costs as CSV, SI: one figure of one configuration a row. */
export function costsTable({ costs }: Pick<CampaignEvaluation, "costs">): string {
  const rows = costs === null ? [] : costRows(costs);
  const found = Object.entries(costs?.configurations ?? {}).flatMap(([configuration, own]) =>
    rows.flatMap(({ what, of }) => {
      const figure = of(own);
      return figure === null ? [] : [{ configuration, what, figure }];
    }),
  );
  return table(costColumns, found);
}

function figuresOf(run: RunEvaluation): RunFigures[] {
  const rows: RunFigures[] = [];
  for (const window of ["cycles", "hold"] as const) {
    for (const subject of subjects) {
      const figures = run.tracking[window]?.[subject];
      if (figures === undefined) continue;
      for (const axis of [...axes, "norm"] as const) {
        const split = window === "cycles" && axis !== "norm" ? run.synchronous?.[subject]?.[axis] : undefined;
        const { delay } = figures;
        rows.push({ run, window, subject, axis, delay, figures: figures[axis], synchronous: split?.rms ?? null });
      }
    }
  }
  const none = { window: "", subject: "", axis: "", delay: null, figures: null, synchronous: null };
  return rows.length > 0 ? rows : [{ run, ...none }];
}

const benchColumns: Columns<BenchCell> = [
  ["trajectory", ({ trajectory }) => trajectory],
  ["speed", ({ speed_label }) => speed_label],
  ["cycle rate (Hz)", ({ speed }) => speed],
  ["channel", ({ channel }) => channel],
  ["harmonic or band", ({ harmonic }) => harmonic],
  ["unit", ({ unit }) => unit],
  ["baseline refits", ({ baseline }) => baseline.n],
  ["baseline mean", ({ baseline }) => baseline.mean],
  ["baseline sd", ({ baseline }) => baseline.sd],
  ["candidate refits", ({ candidate }) => candidate.n],
  ["candidate mean", ({ candidate }) => candidate.mean],
  ["candidate sd", ({ candidate }) => candidate.sd],
  ["reduction", ({ reduction }) => reduction],
  ["95 % interval from", ({ ci95 }) => ci95?.[0] ?? null],
  ["95 % interval to", ({ ci95 }) => ci95?.[1] ?? null],
  ["method", ({ method }) => method],
  ["refits", ({ refits }) => refits],
  ["p", ({ p }) => p],
  ["p among family", ({ p_family }) => p_family],
  ["verdict", ({ verdict }) => verdict],
  ["doubted for", ({ doubts }) => list(doubts)],
];

/** The bench's cells as CSV, one a row, SI. */
export function benchTable({ cells }: Pick<BenchEvaluation, "cells">): string {
  return table(benchColumns, cells);
}
