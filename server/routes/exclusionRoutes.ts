import { type Request, Router } from "express";
import {
  decideRequestSchema,
  type ExclusionsAnswer,
  exclusionsAnswerSchema,
  retractRequestSchema,
} from "../../src/contract/api/exclusionMessages.ts";
import type { Exclusion } from "../../src/contract/manifest/exclusions.ts";
import { instantText } from "../answers/runRows.ts";
import { readRequest } from "../readRequest.ts";
import type { Reply } from "../reply.ts";
import type { Service } from "../Service.ts";

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
