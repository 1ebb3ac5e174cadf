import { Router } from "express";
import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import { rigAnswerSchema, setupAnswerSchema } from "../../src/contract/api/campaignAnswer.ts";
import {
  cyclesQuerySchema,
  hoverQuerySchema,
  runPathSchema,
  seriesQuerySchema,
} from "../../src/contract/api/queries.ts";
import {
  type CyclesAnswer,
  cyclesAnswerSchema,
  type HoverAnswer,
  hoverAnswerSchema,
  runAnswerSchema,
  runsAnswerSchema,
  type ShownRun,
  seriesAnswerSchema,
} from "../../src/contract/api/runAnswers.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { axes, type Subject, type Window } from "../../src/foundation/tracks.ts";
import { type ErrorSlice, lowerBound, sliceErrors } from "../../src/pipeline/windowSlices.ts";
import { unknownRun } from "../../src/pipeline/writeExclusions.ts";
import { decisionOn, runRows } from "../answers/runRows.ts";
import { frameOf, seriesAnswer } from "../answers/seriesAnswer.ts";
import { rigAnswer, setupAnswer } from "../answers/setupAnswer.ts";
import type { RunTraces } from "../rememberRuns.ts";
import { type Reply, readRequest } from "../requests.ts";
import type { Service, Shown } from "../Service.ts";

const mostBins = 120;
const fewestBins = 8;

/** The error over cycle phase. Without a wish there are at least two samples a bin, as far as the rate allows. */
function cyclesAnswer(
  run: string,
  traces: RunTraces,
  track: SubjectTrack,
  { subject, points }: { subject: Subject; points: number | undefined },
): CyclesAnswer {
  const { cycles, intervals } = traces;
  const interval = intervals[subject === "effector" ? "effector" : "vehicle"] ?? Number.NaN;
  const first = cycles[0];
  const samples = first === undefined ? 0 : (first[1] - first[0]) / interval;
  const usual = Number.isFinite(samples) ? Math.min(mostBins, Math.max(fewestBins, Math.floor(samples / 2))) : mostBins;
  const error = { t: track.t, ...track.error };
  return { run, subject, frame: frameOf(subject, traces), ...foldCycles(error, cycles, points ?? usual) };
}

/** Errors of the hold window for a scatter, evenly thinned. */
function hoverAnswer(
  run: string,
  traces: RunTraces,
  track: SubjectTrack,
  { subject, points }: { subject: Subject; points: number },
): HoverAnswer {
  const { hold } = traces;
  const slice = hold === null ? null : sliceErrors(track, hold);
  const n = slice?.t.length ?? 0;
  const every = Math.max(1, Math.ceil(n / points));
  const thin = (column: Float64Array | undefined): number[] =>
    column === undefined ? [] : Array.from({ length: Math.ceil(n / every) }, (_, k) => column[k * every]!);
  return {
    run,
    subject,
    frame: frameOf(subject, traces),
    window: hold === null ? null : [...hold],
    n,
    every,
    t: thin(slice?.t),
    x: thin(slice?.x),
    y: thin(slice?.y),
    z: thin(slice?.z),
  };
}

/** `GET /runs`, `/rig`, `/runs/:id`, `/runs/:id/series`, `/runs/:id/cycles`, `/runs/:id/hover` and `/runs/:id/setup`. */
export function runRoutes(service: Service, reply: Reply): Router {
  const trackOf = async (params: unknown, subject: Subject): Promise<Drawn> => {
    const { id } = readRequest(runPathSchema, params, "bad-address");
    const run = runNamed(service.shown(), id);
    const traces = await service.traces(id);
    return { id, traces, track: subjectOf(run, traces, subject) };
  };
  return Router()
    .get("/runs", (_request, response) => {
      reply(response, runsAnswerSchema, { runs: runRows(service.shown()) });
    })
    .get("/runs/:id", (request, response) => {
      const { id } = readRequest(runPathSchema, { ...request.params }, "bad-address");
      const shown = service.shown();
      reply(response, runAnswerSchema, { run: runNamed(shown, id), decision: decisionOn(shown, id) });
    })
    .get("/runs/:id/series", async (request, response) => {
      const query = readRequest(seriesQuerySchema, { ...request.query }, "bad-query");
      const { id, traces, track } = await trackOf({ ...request.params }, query.subject);
      const answer = seriesAnswer(id, traces, track, query);
      reply(response, seriesAnswerSchema, service.blind ? { ...answer, figures: null } : answer);
    })
    .get("/runs/:id/cycles", async (request, response) => {
      const { subject, points } = readRequest(cyclesQuerySchema, { ...request.query }, "bad-query");
      const { id, traces, track } = await trackOf({ ...request.params }, subject);
      reply(response, cyclesAnswerSchema, cyclesAnswer(id, traces, track, { subject, points }));
    })
    .get("/runs/:id/setup", async (request, response) => {
      const { id } = readRequest(runPathSchema, { ...request.params }, "bad-address");
      const { campaign, ...shown } = service.shown();
      const run = runNamed({ campaign, ...shown }, id);
      reply(response, setupAnswerSchema, setupAnswer(run, await service.traces(id), campaign.frames, service));
    })
    .get("/rig", (_request, response) => {
      reply(response, rigAnswerSchema, rigAnswer(service.shown().campaign, service.blind));
    })
    .get("/runs/:id/hover", async (request, response) => {
      const query = readRequest(hoverQuerySchema, { ...request.query }, "bad-query");
      const { id, traces, track } = await trackOf({ ...request.params }, query.subject);
      reply(response, hoverAnswerSchema, hoverAnswer(id, traces, track, query));
    });
}

interface Drawn {
  readonly id: string;
  readonly traces: RunTraces;
  readonly track: SubjectTrack;
}

function runNamed({ runs }: Shown, id: string): ShownRun {
  const run = runs.find((one) => one.id === id);
  if (run !== undefined) return run;
  throw unknownRun(
    id,
    runs.map((one) => one.id),
  );
}

function subjectOf(run: ShownRun, { subjects }: RunTraces, subject: Subject): SubjectTrack {
  const track = subjects[subject];
  if (track !== undefined && track.t.length > 0) return track;
  const present = Object.keys(subjects);
  if (present.length > 0) {
    throw new CounterpoiseError(
      "unknown-subject",
      `found the subject ${subject}, expected one that run ${run.id} has: ${present.join(", ")}`,
    );
  }
  const why = run.checks.find(({ severity }) => severity === "unusable");
  throw new CounterpoiseError(
    "nothing-to-draw",
    `found nothing to draw of run ${run.id}: ${why?.message ?? "no poses"}`,
    {
      hint: why?.hint ?? null,
    },
  );
}

/**
 * The error over cycle phase: the mean of each bin of each cycle, and the mean of the cycles, each counting alike. A bin
 * without samples is null; nothing is carried across a gap.
 *
 * @param error   metres
 * @param cycles  seconds; the end of each belongs to the next
 * @param bins    per cycle
 */
export function foldCycles(
  error: ErrorSlice,
  cycles: readonly Window[],
  bins: number,
): Pick<CyclesAnswer, "phase" | "cycles" | "mean" | "behind"> {
  const folded = cycles.map((window) => foldOne(error, window, bins));
  const behind = Array.from({ length: bins }, (_, b) => folded.filter(({ x }) => x[b] !== null).length);
  const meanOf = (axis: "x" | "y" | "z"): (number | null)[] =>
    behind.map((count, b) =>
      count === 0 ? null : folded.reduce((sum, cycle) => sum + (cycle[axis][b] ?? 0), 0) / count,
    );
  return {
    phase: Array.from({ length: bins }, (_, b) => (2 * Math.PI * (b + 0.5)) / bins),
    cycles: folded,
    mean: { x: meanOf("x"), y: meanOf("y"), z: meanOf("z") },
    behind,
  };
}

function foldOne(error: ErrorSlice, [start, end]: Window, bins: number): CyclesAnswer["cycles"][number] {
  const a = lowerBound(error.t, start);
  const b = lowerBound(error.t, end);
  const counts = new Int32Array(bins);
  const sums = axes.map(() => new Float64Array(bins));
  const scale = bins / (end - start);
  for (let i = a; i < b; i++) {
    const bin = Math.min(bins - 1, Math.floor((error.t[i]! - start) * scale));
    counts[bin]!++;
    for (let axis = 0; axis < 3; axis++) sums[axis]![bin]! += error[axes[axis]!][i]!;
  }
  const of = (axis: number): (number | null)[] =>
    Array.from(counts, (count, bin) => (count === 0 ? null : sums[axis]![bin]! / count));
  return { window: [start, end], x: of(0), y: of(1), z: of(2) };
}
