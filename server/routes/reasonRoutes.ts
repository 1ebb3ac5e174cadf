import { Router } from "express";
import { auditAnswerSchema, reasonsAnswerSchema } from "../../src/contract/api/reasonsAnswers.ts";
import { imbalanceSentences } from "../../src/report/imbalanceSentences.ts";
import { movingSentences } from "../../src/report/movingSentences.ts";
import type { Reply } from "../reply.ts";
import type { Service } from "../Service.ts";

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
