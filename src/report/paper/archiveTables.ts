import { type MeasureId, measureAxes, measureIds, measureOf } from "../../catalogue/measures.ts";
import type { CampaignEvaluation, RunEvaluation } from "../../contract/evaluation.ts";
import { axes, subjects } from "../../foundation/tracks.ts";

/** An evaluation of an archive, and how its rows are told from another's. */
export interface Collected {
  /** file name as given */
  readonly file: string;
  /** the first 16 digits of the SHA-256 of its text */
  readonly sum: string;
  readonly evaluation: CampaignEvaluation;
}

type Value = string | number | boolean | null;
export interface ArchiveColumn<Row> {
  readonly name: string;
  readonly type: "STRING" | "DOUBLE" | "INT32" | "BOOLEAN";
  /** with its unit */
  readonly what: string;
  readonly of: (row: Row) => Value;
}

interface OfRun {
  readonly from: Collected;
  readonly run: RunEvaluation;
}
interface RunRow extends OfRun {
  readonly window: string;
  readonly subject: string;
  readonly axis: string;
  readonly measure: string;
  readonly unit: string;
  readonly value: number;
}

const column = <Row>(
  name: string,
  type: ArchiveColumn<Row>["type"],
  what: string,
  of: (row: Row) => Value,
): ArchiveColumn<Row> => ({ name, type, what, of });

const campaignColumns = <Row extends { readonly from: Collected }>(): ArchiveColumn<Row>[] => [
  column("evaluation", "STRING", "which evaluation: first digits of its SHA-256", ({ from }) => from.sum),
  column("campaign", "STRING", "title", ({ from }) => from.evaluation.title),
  column(
    "looked_at",
    "STRING",
    "first look, ISO 8601; null where none is on record",
    ({ from }) => from.evaluation.looks.first,
  ),
  column("version", "STRING", "of the program that evaluated", ({ from }) => from.evaluation.tool.version),
];

const runColumns = <Row extends OfRun>(): ArchiveColumn<Row>[] => [
  ...campaignColumns<Row>(),
  column("run", "STRING", "id", ({ run }) => run.id),
  column("configuration", "STRING", "name", ({ run }) => run.configuration),
  column("role", "STRING", "baseline, candidate, sham or null", ({ from, run }) =>
    roleOf(from.evaluation, run.configuration),
  ),
  column("trajectory", "STRING", "name", ({ run }) => run.trajectory),
  column("block", "STRING", "name; null where none", ({ run }) => run.block),
  column("started", "STRING", "ISO 8601; null where it is not known", ({ run }) => run.started),
  column("battery", "STRING", "name of the pack; null where none", ({ run }) => run.battery),
  column("used", "BOOLEAN", "enters the comparison", ({ run }) => run.used),
  column("takeoff_mass", "DOUBLE", "kg", ({ run }) => run.takeoff_mass),
];

function roleOf({ settings }: CampaignEvaluation, name: string): string | null {
  return (["baseline", "candidate", "sham"] as const).find((role) => settings[role] === name) ?? null;
}

const measureRows: readonly ArchiveColumn<RunRow>[] = [
  ...runColumns<RunRow>(),
  column("window", "STRING", "cycles or hold", ({ window }) => window),
  column("subject", "STRING", "vehicle, effector or arm", ({ subject }) => subject),
  column("axis", "STRING", "x, y, z or norm", ({ axis }) => axis),
  column("along", "STRING", "whose axes: world, heading (forward, left, up) or vehicle", ({ run, subject }) =>
    subject === "arm" ? "vehicle" : run.heading?.taken_out == null ? "world" : "heading",
  ),
  column("measure", "STRING", "which figure", ({ measure }) => measure),
  column("unit", "STRING", "of the value, SI", ({ unit }) => unit),
  column("value", "DOUBLE", "in its unit", ({ value }) => value),
];

type CellRow = { readonly from: Collected; readonly cell: CampaignEvaluation["cells"][number] };
const cellColumns: readonly ArchiveColumn<CellRow>[] = [
  ...campaignColumns<CellRow>(),
  column("trajectory", "STRING", "name", ({ cell }) => cell.trajectory),
  column("subject", "STRING", "vehicle, effector or arm", ({ cell }) => cell.subject),
  column("axis", "STRING", "x, y, z or norm", ({ cell }) => cell.axis),
  column("judged_in", "STRING", "world, heading or vehicle", ({ cell }) => cell.judged_in),
  column("measure", "STRING", "what is compared", ({ cell }) => cell.metric),
  column("unit", "STRING", "of means, difference and interval, SI", ({ cell }) => cell.unit),
  column("in_family", "BOOLEAN", "shares the family's error", ({ cell }) => cell.in_family),
  column("baseline", "STRING", "name of the configuration", ({ from }) => from.evaluation.settings.baseline),
  column("candidate", "STRING", "name of the configuration", ({ from }) => from.evaluation.settings.candidate),
  column("baseline_runs", "INT32", "that enter", ({ cell }) => cell.baseline.n),
  column("candidate_runs", "INT32", "that enter", ({ cell }) => cell.candidate.n),
  column("baseline_mean", "DOUBLE", "in the unit", ({ cell }) => cell.baseline.mean),
  column("candidate_mean", "DOUBLE", "in the unit", ({ cell }) => cell.candidate.mean),
  column("difference", "DOUBLE", "candidate less baseline, in the unit", ({ cell }) => cell.difference),
  column("ci95_low", "DOUBLE", "95 % interval, in the unit", ({ cell }) => cell.ci95?.[0] ?? null),
  column("ci95_high", "DOUBLE", "95 % interval, in the unit", ({ cell }) => cell.ci95?.[1] ?? null),
  column("p_family", "DOUBLE", "Holm's p among the family", ({ cell }) => cell.p_family),
  column("verdict", "STRING", "null outside the family", ({ cell }) => cell.verdict),
];

interface MomentRow extends OfRun {
  readonly axis: string;
  readonly k: number;
  readonly figures: NonNullable<NonNullable<RunEvaluation["moving"]>["x"]>[number];
}
const momentColumns: readonly ArchiveColumn<MomentRow>[] = [
  ...runColumns<MomentRow>(),
  column("axis", "STRING", "x or y of the vehicle", ({ axis }) => axis),
  column("harmonic", "INT32", "of the cycle rate", ({ k }) => k),
  column(
    "share",
    "DOUBLE",
    "apparent moving mass over the mass of the whole, in step with the arm",
    ({ figures }) => figures.share[0],
  ),
  column("share_beside", "DOUBLE", "the same, a quarter of a cycle beside it", ({ figures }) => figures.share[1]),
  column(
    "apparent_mass",
    "DOUBLE",
    "kg, in step; null where the take-off mass is not known",
    ({ figures }) => figures.apparent_mass?.[0] ?? null,
  ),
  column(
    "apparent_mass_beside",
    "DOUBLE",
    "kg, a quarter of a cycle beside it",
    ({ figures }) => figures.apparent_mass?.[1] ?? null,
  ),
];

/** A table of an archive: its columns, and the rows in the order of the evaluations given. */
export interface ArchiveTable {
  readonly name: "runs" | "cells" | "moments";
  readonly columns: readonly {
    readonly name: string;
    readonly type: ArchiveColumn<never>["type"];
    readonly what: string;
    readonly data: readonly Value[];
  }[];
}

/** Runs (a row for each figure of each run), cells and moving moments of any number of evaluations. */
export function archiveTables(all: readonly Collected[]): ArchiveTable[] {
  const each = all.flatMap((from) => from.evaluation.runs.map((run) => ({ from, run })));
  const moments = each.flatMap(({ from, run }) =>
    (["x", "y"] as const).flatMap((axis) =>
      (run.moving?.[axis] ?? []).map((figures): MomentRow => ({ from, run, axis, k: figures.k, figures })),
    ),
  );
  const cells = all.flatMap((from) => from.evaluation.cells.map((cell) => ({ from, cell })));
  return [
    filled("runs", measureRows, each.flatMap(figuresOf)),
    filled("cells", cellColumns, cells),
    filled("moments", momentColumns, moments),
  ];
}

function filled<Row>(
  name: ArchiveTable["name"],
  columns: readonly ArchiveColumn<Row>[],
  rows: readonly Row[],
): ArchiveTable {
  return { name, columns: columns.map(({ of, ...rest }) => ({ ...rest, data: rows.map(of) })) };
}

const errorFigures = ["bias", "sd", "rms", "p95", "max_abs"] as const;

/** The windows in which a measure stands in a run: the tilt is taken once, in the window that the run has. */
function windowsOf({ tracking }: RunEvaluation, metric: MeasureId): readonly ("cycles" | "hold")[] {
  if (metric === "tilt") return [tracking.cycles === null ? "hold" : "cycles"];
  const { taken, windows } = measureOf(metric);
  return taken === undefined ? windows : [taken];
}

/** The measures that are no figure of the error itself, in each window that has them. */
function measuresOf({ from, run }: OfRun): RunRow[] {
  const rows: RunRow[] = [];
  for (const measure of measureIds.filter((id) => !errorFigures.some((figure) => figure === id))) {
    const { unit, of, subjects: whose } = measureOf(measure);
    for (const window of windowsOf(run, measure))
      for (const subject of whose)
        for (const axis of measureAxes(measure)) {
          const value = of(run, { subject, axis, window });
          if (value !== null) rows.push({ from, run, window, subject, axis, measure, unit, value });
        }
  }
  return rows;
}

/** Figures of a run that an archive keeps, a row each; those that a run does not have are not there. */
function figuresOf({ from, run }: OfRun): RunRow[] {
  const rows: RunRow[] = [];
  const add = (
    place: readonly [string, string, string],
    measure: string,
    unit: string,
    value: number | null | undefined,
  ): void => {
    const [window, subject, axis] = place;
    if (value != null) rows.push({ from, run, window, subject, axis, measure, unit, value });
  };
  for (const subject of subjects) {
    for (const window of ["cycles", "hold"] as const) {
      const figures = run.tracking[window]?.[subject];
      if (figures === undefined) continue;
      add([window, subject, "norm"], "delay", "s", figures.delay);
      for (const axis of [...axes, "norm"] as const)
        for (const measure of errorFigures)
          add(
            [window, subject, axis],
            measure,
            "m",
            (figures[axis] as Partial<Record<typeof measure, number>>)[measure],
          );
    }
    if (subject !== "arm") {
      const hover = run.hold?.[subject];
      for (const axis of axes) add(["hold", subject, axis], "drift", "m/s", hover?.[axis]?.slope);
    }
  }
  return [...rows, ...measuresOf({ from, run })];
}
