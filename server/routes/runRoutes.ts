import { Router } from "express";
import type { SubjectTrack } from "../../src/alignment/subjectTracks.ts";
import {
  cyclesQuerySchema,
  hoverQuerySchema,
  runPathSchema,
  seriesQuerySchema,
} from "../../src/contract/api/queries.ts";
import {
  cyclesAnswerSchema,
  hoverAnswerSchema,
  runAnswerSchema,
  runsAnswerSchema,
  type ShownRun,
  seriesAnswerSchema,
} from "../../src/contract/api/runAnswers.ts";
import { setupAnswerSchema } from "../../src/contract/api/setupAnswer.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import type { Subject } from "../../src/foundation/signals.ts";
import { unknownRun } from "../../src/pipeline/writeExclusions.ts";
import { cyclesAnswer, hoverAnswer } from "../answers/cyclesAnswer.ts";
import { decisionOn, runRows } from "../answers/runRows.ts";
import { seriesAnswer } from "../answers/seriesAnswer.ts";
import { setupAnswer } from "../answers/setupAnswer.ts";
import type { RunTraces } from "../RunTraces.ts";
import { readRequest } from "../readRequest.ts";
import type { Reply } from "../reply.ts";
import type { Service, Shown } from "../Service.ts";

/** `GET /runs`, `/runs/:id`, `/runs/:id/series`, `/runs/:id/cycles`, `/runs/:id/hover` and `/runs/:id/setup`. */
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
