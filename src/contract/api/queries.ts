import * as z from "zod";
import { cellAxes, measureIds } from "../../catalogue/measures.ts";
import { subjects } from "../../foundation/tracks.ts";

/** A number as it stands in a query: digits, not "", NaN, Infinity or 0x10. */
const plain = z
  .string()
  .max(40)
  .regex(/^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,3})?$/i, "expected a number such as 12.5")
  .transform(Number)
  .pipe(z.number());
const count = (least: number, most: number) => plain.pipe(z.int().min(least).max(most));

const subject = z.enum(subjects);

/** `GET /api/cells`: every key may be left out. */
export const cellsQuerySchema = z.strictObject({
  trajectory: z.string().max(200).optional(),
  subject: subject.optional(),
  axis: z.enum(cellAxes).optional(),
  metric: z.enum(measureIds).optional(),
});

/** The path of one cell. */
export const cellPathSchema = z.strictObject({
  trajectory: z.string().min(1).max(200),
  subject,
  axis: z.enum(cellAxes),
  metric: z.enum(measureIds),
});

/** The path of one run. */
export const runPathSchema = z.strictObject({ id: z.string().min(1).max(200) });

export const pointsLimit = { least: 10, most: 4000, usual: 1200 } as const;

/**
 * `GET /api/runs/:id/series`: seconds since the run's epoch, `from` belongs to the window and `to` does not, as in the
 * evaluation's own windows; left out, the recording's ends. `points`: columns of the drawing.
 */
export const seriesQuerySchema = z
  .strictObject({
    subject: subject.default("vehicle"),
    from: plain.optional(),
    to: plain.optional(),
    points: count(pointsLimit.least, pointsLimit.most).default(pointsLimit.usual),
  })
  .refine(({ from, to }) => from === undefined || to === undefined || from < to, {
    message: "expected a window that ends after its start",
    path: ["from"],
  });
export type SeriesQuery = z.infer<typeof seriesQuerySchema>;

/** `GET /api/runs/:id/cycles`: `points`, bins of one cycle; left out, as many as the samples allow, 120 at most. */
export const cyclesQuerySchema = z.strictObject({
  subject: subject.default("vehicle"),
  points: count(8, 720).optional(),
});

/** `GET /api/runs/:id/hover`: `points`, the most samples handed out. */
export const hoverQuerySchema = z.strictObject({
  subject: subject.default("vehicle"),
  points: count(pointsLimit.least, pointsLimit.most).default(pointsLimit.usual),
});

export const planLimits = { runs: 40, blocks: 20, seed: 4_294_967_295 } as const;

/**
 * `GET /api/plan`, and the files made of it: runs per configuration and trajectory, blocks, seed of the order, and whether the
 * sham is flown; left out, what the plan advises.
 */
export const planQuerySchema = z.strictObject({
  runs: count(2, planLimits.runs).optional(),
  blocks: count(1, planLimits.blocks).optional(),
  seed: count(0, planLimits.seed).optional(),
  sham: z.enum(["yes", "no"]).optional(),
});
