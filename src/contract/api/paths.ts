import * as z from "zod";
import type { CellAxis, MeasureId } from "../../catalogue/measures.ts";
import type { Subject } from "../../foundation/tracks.ts";

const part = encodeURIComponent;

/** The addresses of the API. What goes into a path is encoded: ids are a person's words. */
export const apiPaths = {
  campaign: "/api/campaign",
  evaluation: "/api/evaluation",
  progress: "/api/progress",
  exclusions: "/api/exclusions",
  runs: "/api/runs",
  cells: "/api/cells",
  reasons: "/api/reasons",
  audit: "/api/audit",
  costs: "/api/costs",
  bench: "/api/bench",
  plan: "/api/plan",
  questions: "/api/questions",
  rig: "/api/rig",
  opening: "/api/opening",
  run: (id: string): string => `/api/runs/${part(id)}`,
  series: (id: string): string => `/api/runs/${part(id)}/series`,
  cycles: (id: string): string => `/api/runs/${part(id)}/cycles`,
  setup: (id: string): string => `/api/runs/${part(id)}/setup`,
  hover: (id: string): string => `/api/runs/${part(id)}/hover`,
  cell: (cell: { trajectory: string; subject: Subject; axis: CellAxis; metric: MeasureId }): string =>
    `/api/cells/${part(cell.trajectory)}/${cell.subject}/${cell.axis}/${cell.metric}`,
  export: {
    evaluation: "/api/export/evaluation.json",
    cells: "/api/export/cells.csv",
    runs: "/api/export/runs.csv",
    costs: "/api/export/costs.csv",
    bench: "/api/export/bench.csv",
    /** with the query of `/api/plan` */
    nextRuns: "/api/export/next-runs.csv",
    testCards: "/api/export/test-cards.html",
  },
} as const;

/** Bricks of the API's schemas. Every number is finite; what is not known is null. SI throughout, as in evaluation.json. */

export const number = z.number();
export const nullable = z.number().nullable();
export const interval = z.tuple([number, number]);
export const numbers = z.array(number);
export const nullables = z.array(nullable);
export const perAxis = <T extends z.ZodType>(value: T) => z.strictObject({ x: value, y: value, z: value });
/** the axes and the length of the vector */
export const perAxisAndNorm = <T extends z.ZodType>(value: T) =>
  z.strictObject({ x: value, y: value, z: value, norm: value });

/** What is wrong, what was expected, where, and what to do next. `code` is stable; the words are for a person. */
export const faultSchema = z.strictObject({
  code: z.string(),
  message: z.string(),
  place: z.string().optional(),
  hint: z.string().optional(),
});
export type Fault = z.infer<typeof faultSchema>;

/** The body of every answer that is no success. */
export const faultAnswerSchema = z.strictObject({ error: faultSchema });
export type FaultAnswer = z.infer<typeof faultAnswerSchema>;
