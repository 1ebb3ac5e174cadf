import type { Touch } from "../foundation/checks.ts";
import { type Axis, axes, type Subject, subjects } from "../foundation/tracks.ts";

/** Where the number of a run stands: along an axis, or over all of them together. */
export const cellAxes = [...axes, "norm"] as const;
export type CellAxis = Axis | "norm";

/** What is read of a run's error along an axis; `RunEvaluation` has it. */
interface AxisError {
  readonly rms: number;
  readonly sd: number;
  readonly range: number | null;
}
type PerSubject<T> = { readonly [subject in Subject]?: T | undefined };
type PerAxis<T> = Readonly<Record<Axis, T>>;

/** The figures of a run that measures are taken from; `RunEvaluation` (src/contract) is one. */
interface MeasuredFigures {
  readonly tracking: {
    readonly cycles: PerSubject<PerAxis<AxisError>> | null;
    readonly hold: PerSubject<PerAxis<AxisError>> | null;
  };
  readonly synchronous: PerSubject<PerAxis<{ readonly rms: number }>> | null;
  readonly hold: PerSubject<{ readonly about_mean: { readonly r95: number } }> | null;
  readonly attitude: { readonly tilt: { readonly rms: number } } | null;
  readonly path: PerSubject<{ readonly contour: { readonly rms: number } }> | null;
  readonly within: Readonly<Record<MeasurePlace["window"], PerSubject<number> | null>> | null;
}

/** Whose number, along which axis, of a trajectory that cycles or of a hold. */
interface MeasurePlace {
  readonly subject: Subject;
  readonly axis: CellAxis;
  readonly window: "cycles" | "hold";
}

/** The constant part of an error, how far it reaches, and what of it is in step with the arm. */
type ErrorPart = Exclude<Touch["part"], "all" | "nothing">;

/** One measure that cells compare and that can be a campaign's primary one. */
export interface Measure {
  /** as a sentence names it */
  readonly label: string;
  /** SI unit of its numbers in evaluation.json */
  readonly unit: MeasureUnit;
  readonly steadier: "lower" | "higher";
  /** one number along each axis, or one over all of them */
  readonly along: "axes" | "norm";
  /** whose error has it */
  readonly subjects: readonly Subject[];
  /** the windows that have it: a hold has no cycles, so nothing in step with them */
  readonly windows: readonly MeasurePlace["window"][];
  /** the window it is taken from, where that is not the one of its trajectory */
  readonly taken?: MeasurePlace["window"];
  /** parts of the error of which it is moved, where a finding moves only one */
  readonly parts: readonly ErrorPart[];
  /** the number of a run; null where the run does not have it */
  readonly of: (run: MeasuredFigures, place: MeasurePlace) => number | null;
}

/** The units of measures, and what a person reads in their place. */
export const measureUnits = {
  m: { quantity: "length", shown: "mm", factor: 1000, decimals: 4 },
  rad: { quantity: "angle", shown: "deg", factor: 180 / Math.PI, decimals: 3 },
  "1": { quantity: "share", shown: "%", factor: 100, decimals: 1 },
} as const;
export type MeasureUnit = keyof typeof measureUnits;
export const measureUnitIds = Object.keys(measureUnits) as [MeasureUnit, ...MeasureUnit[]];

const both = ["cycles", "hold"] as const;
const errorFigure =
  (figure: keyof AxisError): Measure["of"] =>
  ({ tracking }, { subject, axis, window }) =>
    axis === "norm" ? null : (tracking[window]?.[subject]?.[axis][figure] ?? null);

/**
 * Every measure there is. The manifest's `primary`, the cells, the heads of tables, addresses, legends and schemas are made
 * from this table: a measure is a row here, and where its number is new, a function in src/metrics.
 */
const measures = {
  rms: {
    label: "rms error",
    unit: "m",
    steadier: "lower",
    along: "axes",
    subjects,
    windows: both,
    parts: ["bias"],
    of: errorFigure("rms"),
  },
  range: {
    label: "range of the error",
    unit: "m",
    steadier: "lower",
    along: "axes",
    subjects,
    windows: both,
    parts: ["peaks"],
    of: errorFigure("range"),
  },
  sd: {
    label: "standard deviation of the error",
    unit: "m",
    steadier: "lower",
    along: "axes",
    subjects,
    windows: both,
    parts: [],
    of: errorFigure("sd"),
  },
  synchronous: {
    label: "synchronous error",
    unit: "m",
    steadier: "lower",
    along: "axes",
    subjects,
    windows: ["cycles"],
    parts: ["synchronous"],
    of: ({ synchronous }, { subject, axis }) => (axis === "norm" ? null : (synchronous?.[subject]?.[axis].rms ?? null)),
  },
  contour: {
    label: "rms contour distance",
    unit: "m",
    steadier: "lower",
    along: "norm",
    subjects,
    windows: ["cycles"],
    parts: ["bias"],
    of: ({ path }, { subject }) => path?.[subject]?.contour.rms ?? null,
  },
  within: {
    label: "share of the time within the tolerance",
    unit: "1",
    steadier: "higher",
    along: "norm",
    subjects,
    windows: both,
    parts: ["bias"],
    of: ({ within }, { subject, window }) => within?.[window]?.[subject] ?? null,
  },
  r95: {
    label: "R95 of the hover about its mean",
    unit: "m",
    steadier: "lower",
    along: "norm",
    subjects: ["vehicle", "effector"],
    windows: both,
    taken: "hold",
    parts: [],
    of: ({ hold }, { subject }) => hold?.[subject]?.about_mean.r95 ?? null,
  },
  tilt: {
    label: "rms tilt error",
    unit: "rad",
    steadier: "lower",
    along: "norm",
    subjects: ["vehicle"],
    windows: both,
    parts: [],
    of: ({ attitude }) => attitude?.tilt.rms ?? null,
  },
} as const satisfies Record<string, Measure>;

export type MeasureId = keyof typeof measures;
export const measureIds = Object.keys(measures) as [MeasureId, ...MeasureId[]];

/** Where the numbers of a measure stand: along each axis, or over all of them together. */
export function measureAxes(id: MeasureId): readonly CellAxis[] {
  return measureOf(id).along === "axes" ? axes : ["norm"];
}

/** A row of the table. */
export function measureOf(id: MeasureId): Measure {
  return measures[id];
}

/** Whose axes x, y and z are: the world's, those of each run's heading (forward, left, up), or the measured vehicle's own. */
export const judgedAxes = ["world", "heading", "vehicle"] as const;
export type JudgedIn = (typeof judgedAxes)[number];
