import { Router } from "express";
import {
  auditAnswerSchema,
  type CellAnswer,
  cellAnswerSchema,
  cellsAnswerSchema,
  reasonsAnswerSchema,
} from "../../src/contract/api/cellAnswers.ts";
import { cellPathSchema, cellsQuerySchema } from "../../src/contract/api/queries.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { imbalanceSentences } from "../../src/report/imbalanceSentences.ts";
import { movingSentences } from "../../src/report/movingSentences.ts";
import { cellAnswer } from "../answers/cellAnswer.ts";
import { recentlyUsed } from "../rememberRuns.ts";
import { type Reply, readRequest } from "../requests.ts";
import type { Service } from "../Service.ts";

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

/** `GET /reasons` and `GET /audit`. */
export function reasonRoutes(service: Service, reply: Reply): Router {
  return Router()
    .get("/reasons", (_request, response) => {
      const { evaluation } = service.judged();
      reply(response, reasonsAnswerSchema, {
        reasons: evaluation.reasons,
        moving: movingSentences(evaluation).map(({ text, items }) => ({ text, items: [...items] })),
        imbalance: imbalanceSentences(evaluation),
      });
    })
    .get("/audit", (_request, response) => {
      const { audit, fitted, looks } = service.blind
        ? { ...service.checked().check, looks: null }
        : service.judged().evaluation;
      reply(response, auditAnswerSchema, { audit, fitted, looks });
    });
}
