import { AnswerError } from "./fetchAnswer.ts";
import type { Place, View } from "./View.ts";

/** The pages by name. A page is loaded when it is first opened: the first screen waits for no other. */
const pages: Readonly<Record<Place["page"], () => Promise<View>>> = {
  answer: async () => (await import("../views/answerView.ts")).answerView,
  cell: async () => (await import("../views/cellView.ts")).cellView,
  run: async () => (await import("../views/runView.ts")).runView,
  setup: async () => (await import("../views/setupView.ts")).setupView,
  // once the answer is open, it says all that a check did
  check: async () => (await import("../views/answerView.ts")).answerView,
  why: async () => (await import("../views/whyView.ts")).whyView,
  costs: async () => (await import("../views/costsView.ts")).costsView,
  audit: async () => (await import("../views/auditView.ts")).auditView,
  bench: async () => (await import("../views/benchView.ts")).benchView,
  plan: async () => (await import("../views/planView.ts")).planView,
  compare: async () => (await import("../views/compareView.ts")).compareView,
  synchronous: async () => (await import("../views/synchronousView.ts")).synchronousView,
};

/** What a blind service can fill: the set-up stands in the answer's place, and what compares is closed. */
const blindPages: typeof pages = {
  ...pages,
  answer: pages.setup,
  check: async () => (await import("../views/checkView.ts")).checkView,
  ...Object.fromEntries(
    (["cell", "why", "costs", "plan", "synchronous", "compare", "bench"] as const).map((page) => [
      page,
      async () => (await import("../views/checkView.ts")).closedView,
    ]),
  ),
};

/**
 * The view of a page.
 *
 * @param options.blind  the service shows no answer
 *
 * @throws AnswerError  code `no-connection`: its script could not be loaded: the service is gone
 */
export async function viewOf(page: Place["page"], { blind }: { readonly blind: boolean }): Promise<View> {
  try {
    return await (blind ? blindPages : pages)[page]();
  } catch {
    throw new AnswerError({
      code: "no-connection",
      message: "the service does not answer",
      hint: "is `counterpoise serve` still running in its terminal?",
    });
  }
}
