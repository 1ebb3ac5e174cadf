import { type Request, type Response, Router } from "express";
import {
  auditAnswerSchema,
  benchAnswerSchema,
  type CellAnswer,
  cellAnswerSchema,
  cellsAnswerSchema,
  costsAnswerSchema,
  planAnswerSchema,
  reasonsAnswerSchema,
} from "../../src/contract/api/cellAnswers.ts";
import {
  answersRequestSchema,
  decideRequestSchema,
  type ExclusionsAnswer,
  exclusionsAnswerSchema,
  type QuestionsAnswer,
  questionsAnswerSchema,
  retractRequestSchema,
  serviceStateSchema,
} from "../../src/contract/api/messages.ts";
import { cellPathSchema, cellsQuerySchema, planQuerySchema } from "../../src/contract/api/queries.ts";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import type { Exclusion } from "../../src/contract/manifest/exclusions.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import type { AskedManifest } from "../../src/pipeline/answerQuestions.ts";
import { type Planned, planOf } from "../../src/pipeline/planFlights.ts";
import { costParagraphs } from "../../src/report/costParagraphs.ts";
import { costOptions, verdictCounts } from "../../src/report/costSentences.ts";
import { imbalanceSentences } from "../../src/report/imbalanceSentences.ts";
import { movingSentences } from "../../src/report/movingSentences.ts";
import { benchTable, cellsTable, costsTable, runsTable } from "../../src/report/paper/csvTables.ts";
import { planCardsPage } from "../../src/report/plan/planCardsPage.ts";
import { planNames } from "../../src/report/plan/planWords.ts";
import { toFlightSentences } from "../../src/report/toFlightSentences.ts";
import { benchSentence } from "../../src/words/benchWords.ts";
import { cellAnswer } from "../answers/cellAnswer.ts";
import { instantText } from "../answers/runRows.ts";
import { recentlyUsed } from "../rememberRuns.ts";
import { type Reply, readRequest } from "../requests.ts";
import type { Judged, Service } from "../Service.ts";

/** `GET`, `POST` and `DELETE /exclusions`. Changes are answered with 202 once written; the evaluation follows. */
export function exclusionRoutes(service: Service, reply: Reply, now: () => Date): Router {
  const body = (request: Request): unknown => request.body as unknown;
  return Router()
    .get("/exclusions", async (_request, response) => {
      reply(response, exclusionsAnswerSchema, answer(await service.exclusions()));
    })
    .post("/exclusions", async (request, response) => {
      const { run, include, reason } = readRequest(decideRequestSchema, body(request), "bad-body");
      const exclusions = await service.decide({ run, decision: { include, reason, at: now() } });
      reply(response, exclusionsAnswerSchema, answer(exclusions), 202);
    })
    .delete("/exclusions", async (request, response) => {
      const { run } = readRequest(retractRequestSchema, body(request), "bad-body");
      const exclusions = await service.decide({ run, decision: null });
      reply(response, exclusionsAnswerSchema, answer(exclusions), 202);
    });
}

function answer(exclusions: readonly Exclusion[]): ExclusionsAnswer {
  return {
    exclusions: exclusions.map(({ run, include, reason, at }) => ({ run, include, reason, at: instantText(at) })),
  };
}

/**
 * `GET` and `POST /questions`: what the manifest leaves open, and answers to it (202 once written). `POST /opening` with the body
 * `{}`: ends being blind; 202, the evaluation follows.
 */
export function questionRoutes(service: Service, reply: Reply): Router {
  const answer = ({ stamp, questions }: AskedManifest): QuestionsAnswer => ({
    manifest: service.manifestName,
    stamp,
    questions: questions.map(({ path, placeholder, line, remark, kind, choices, details }) => ({
      path: [...path],
      placeholder,
      line,
      remark,
      kind,
      choices: [...choices],
      details: [...details],
    })),
  });
  return Router()
    .get("/questions", async (_request, response) => {
      reply(response, questionsAnswerSchema, answer(await service.questions()));
    })
    .post("/questions", async (request, response) => {
      const given = readRequest(answersRequestSchema, request.body as unknown, "bad-body");
      reply(response, questionsAnswerSchema, answer(await service.answer(given)), 202);
    })
    .post("/opening", (_request, response) => {
      service.open();
      reply(response, serviceStateSchema, service.state(), 202);
    });
}

/** `GET /cells` and `GET /cells/:trajectory/:subject/:axis/:metric`. */
export function cellRoutes(service: Service, reply: Reply): Router {
  const kept = recentlyUsed<CellAnswer>({ most: 100, heaviest: Number.POSITIVE_INFINITY, weigh: () => 1 });
  return Router()
    .get("/cells", (request, response) => {
      const query = readRequest(cellsQuerySchema, { ...request.query }, "bad-query");
      const wanted = Object.entries(query) as [keyof typeof query, string][];
      const cells = service
        .judged()
        .evaluation.cells.filter((cell) => wanted.every(([key, value]) => cell[key] === value));
      reply(response, cellsAnswerSchema, { cells });
    })
    .get("/cells/:trajectory/:subject/:axis/:metric", async (request, response) => {
      const path = readRequest(cellPathSchema, { ...request.params }, "bad-address");
      const judged = service.judged();
      const cell = judged.evaluation.cells.find(
        ({ trajectory, subject, axis, metric }) =>
          trajectory === path.trajectory && subject === path.subject && axis === path.axis && metric === path.metric,
      );
      if (cell === undefined) {
        const { trajectory, subject, axis, metric } = path;
        throw new CounterpoiseError(
          "unknown-cell",
          `found the cell ${JSON.stringify(`${trajectory} ${subject} ${axis} ${metric}`)}, expected one of the campaign's`,
          { hint: "the list of cells names them" },
        );
      }
      const key = JSON.stringify([judged.version, path]);
      reply(response, cellAnswerSchema, await kept.get(key, async () => cellAnswer(judged, cell)));
    });
}

/** The arm on the stand. @throws CounterpoiseError  code `no-bench` */
function benchOf(service: Service): { readonly bench: BenchEvaluation; readonly evaluation: CampaignEvaluation } {
  const { evaluation } = service.judged();
  if (evaluation.bench !== null) return { bench: evaluation.bench, evaluation };
  throw new CounterpoiseError("no-bench", "found a campaign without a bench, expected one whose manifest has `bench`", {
    hint: "the part `bench` of the manifest names the runs on the stand",
  });
}

/** `GET /reasons`, `GET /costs`, `GET /audit` and `GET /bench`. */
export function reasonRoutes(service: Service, reply: Reply): Router {
  return Router()
    .get("/reasons", (_request, response) => {
      const { evaluation } = service.judged();
      reply(response, reasonsAnswerSchema, {
        reasons: evaluation.reasons,
        moving: movingSentences(evaluation).map(({ text, items }) => ({ text, items: [...items] })),
        bench: toFlightSentences(evaluation).map(({ text, items }) => ({ text, items: [...items] })),
        ...(evaluation.bench_to_flight === undefined ? {} : { bench_to_flight: evaluation.bench_to_flight }),
        imbalance: imbalanceSentences(evaluation),
      });
    })
    .get("/costs", (_request, response) => {
      const { evaluation } = service.judged();
      reply(response, costsAnswerSchema, {
        costs: evaluation.costs,
        options: costOptions(evaluation).map(({ configuration, left, verdicts }) => ({
          configuration,
          left,
          verdicts: verdictCounts(verdicts),
        })),
        paragraphs: costParagraphs(evaluation).map(({ text, items }) => ({ text, items: [...items] })),
      });
    })
    .get("/bench", (_request, response) => {
      const { bench, evaluation } = benchOf(service);
      const { candidate, configurations } = evaluation.settings;
      const sentence = benchSentence(bench, { candidate: configurations[candidate]?.label || candidate });
      reply(response, benchAnswerSchema, { sentence, bench });
    })
    .get("/audit", (_request, response) => {
      const { audit, fitted, looks } = service.blind
        ? { ...service.checked().check, looks: null }
        : service.judged().evaluation;
      reply(response, auditAnswerSchema, { audit, fitted, looks });
    });
}

/**
 * `GET /plan`, and the files made of the same query: `GET /export/next-runs.csv`, `GET /export/test-cards.html`. The page of
 * cards has a style of its own, which this service's policy forbids to show: it is a file to keep and to print.
 */
export function planRoutes(service: Service, reply: Reply): Router {
  // the page asks for the plan, then for its files with the same wish
  const kept = recentlyUsed<Planned>({ most: 20, heaviest: Number.POSITIVE_INFINITY, weigh: () => 1 });
  const planned = async (query: object): Promise<Planned & { readonly judged: Judged }> => {
    const { sham, ...wish } = readRequest(planQuerySchema, { ...query }, "bad-query");
    const judged = service.judged();
    const asked = { ...wish, sham: sham === "yes" };
    const key = JSON.stringify([judged.version, asked.runs, asked.blocks, asked.seed, asked.sham]);
    const found = await kept.get(key, async () => planOf(judged.campaign, judged.evaluation, asked));
    return { ...found, judged };
  };
  const send = (response: Response, name: string, type: string, text: string): void => {
    response.attachment(name).type(type).send(text);
  };
  return Router()
    .get("/plan", async (request, response) => {
      const { plan, day } = await planned(request.query);
      reply(response, planAnswerSchema, { plan, day });
    })
    .get("/export/next-runs.csv", async (request, response) => {
      const { day } = await planned(request.query);
      send(response, "next-runs.csv", "text/csv; charset=utf-8", day.runs_csv);
    })
    .get("/export/test-cards.html", async (request, response) => {
      const { plan, day, judged } = await planned(request.query);
      const page = planCardsPage(plan, day, planNames(judged.evaluation));
      send(response, "test-cards.html", "text/html; charset=utf-8", page);
    });
}

/** `GET /export/evaluation.json`, and `cells.csv`, `runs.csv`, `costs.csv` and `bench.csv` beside it, as files. */
export function exportRoutes(service: Service): Router {
  const send = (response: Response, name: string, type: string, text: string): void => {
    response.attachment(name).type(type).send(text);
  };
  return Router()
    .get("/export/evaluation.json", (_request, response) => {
      send(response, "evaluation.json", "application/json; charset=utf-8", service.judged().json);
    })
    .get("/export/cells.csv", (_request, response) => {
      send(response, "cells.csv", "text/csv; charset=utf-8", cellsTable(service.judged().evaluation));
    })
    .get("/export/runs.csv", (_request, response) => {
      send(response, "runs.csv", "text/csv; charset=utf-8", runsTable(service.judged().evaluation));
    })
    .get("/export/costs.csv", (_request, response) => {
      send(response, "costs.csv", "text/csv; charset=utf-8", costsTable(service.judged().evaluation));
    })
    .get("/export/bench.csv", (_request, response) => {
      send(response, "bench.csv", "text/csv; charset=utf-8", benchTable(benchOf(service).bench));
    });
}
