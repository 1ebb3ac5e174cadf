import { type Request, Router } from "express";
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
import type { Exclusion } from "../../src/contract/manifest/exclusions.ts";
import type { AskedManifest } from "../../src/pipeline/answerQuestions.ts";
import { instantText } from "../answers/runRows.ts";
import { type Reply, readRequest } from "../requests.ts";
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

/**
 * `GET` and `POST /questions`: what the manifest leaves open, and answers to it (202 once written). `POST /opening` with the body
 * `{}`: ends being blind; 202, the evaluation follows.
 */
export function questionRoutes(service: Service, reply: Reply): Router {
  const answer = ({ stamp, questions }: AskedManifest): QuestionsAnswer => ({
    manifest: service.manifestName,
    stamp,
    questions: questions.map(({ path, placeholder, line, remark, kind, choices }) => ({
      path: [...path],
      placeholder,
      line,
      remark,
      kind,
      choices: [...choices],
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
