import { Router } from "express";
import {
  answersRequestSchema,
  type QuestionsAnswer,
  questionsAnswerSchema,
} from "../../src/contract/api/questionMessages.ts";
import { serviceStateSchema } from "../../src/contract/api/serviceState.ts";
import type { AskedManifest } from "../../src/pipeline/answerQuestions.ts";
import { readRequest } from "../readRequest.ts";
import type { Reply } from "../reply.ts";
import type { Service } from "../Service.ts";

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
