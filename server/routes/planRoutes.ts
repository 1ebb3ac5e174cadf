import { type Response, Router } from "express";
import { planAnswerSchema } from "../../src/contract/api/cellAnswers.ts";
import { planQuerySchema } from "../../src/contract/api/queries.ts";
import { type Planned, planOf } from "../../src/pipeline/planFlights.ts";
import { planCardsPage } from "../../src/report/plan/planCardsPage.ts";
import { planNames } from "../../src/report/plan/planWords.ts";
import { cellsTable, runsTable } from "../answers/tables.ts";
import { recentlyUsed } from "../rememberRuns.ts";
import { type Reply, readRequest } from "../requests.ts";
import type { Judged, Service } from "../Service.ts";

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

/** `GET /export/evaluation.json`, `/export/cells.csv` and `/export/runs.csv`, as files. */
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
    });
}
