import { Router } from "express";
import { type CellAnswer, cellAnswerSchema, cellsAnswerSchema } from "../../src/contract/api/cellAnswers.ts";
import { cellPathSchema, cellsQuerySchema } from "../../src/contract/api/queries.ts";
import { CounterpoiseError } from "../../src/foundation/errors.ts";
import { cellAnswer } from "../answers/cellAnswer.ts";
import { readRequest } from "../readRequest.ts";
import { recentlyUsed } from "../recentlyUsed.ts";
import type { Reply } from "../reply.ts";
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
