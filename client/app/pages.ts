import { AnswerError } from "./AnswerError.ts";
import type { Place } from "./place.ts";
import type { View } from "./View.ts";

/** The pages by name. A page is loaded when it is first opened: the first screen waits for no other. */
const pages: Readonly<Record<Place["page"], () => Promise<View>>> = {
  answer: async () => (await import("../views/answerView.ts")).answerView,
  cell: async () => (await import("../views/cellView.ts")).cellView,
  run: async () => (await import("../views/runView.ts")).runView,
  why: async () => (await import("../views/whyView.ts")).whyView,
  audit: async () => (await import("../views/auditView.ts")).auditView,
  plan: async () => (await import("../views/planView.ts")).planView,
  synchronous: async () => (await import("../views/synchronousView.ts")).synchronousView,
};

/**
 * The view of a page.
 *
 * @throws AnswerError  code `no-connection`: its script could not be had, for the service is gone
 */
export async function viewOf(page: Place["page"]): Promise<View> {
  try {
    return await pages[page]();
  } catch {
    throw new AnswerError({
      code: "no-connection",
      message: "the service does not answer",
      hint: "is `counterpoise serve` still running in its terminal?",
    });
  }
}
