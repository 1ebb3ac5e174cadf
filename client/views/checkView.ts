import { apiPaths } from "../../src/contract/api/paths.ts";
import type { RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { runsTable } from "./answer/runsTable.ts";

/** The first screen of a blind service: can the campaign be evaluated, what is hidden, and the runs with what is wrong. */
export const checkView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", text: "Fetching the runs…" });
  root.append(loading);
  const { runs } = await fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left });
  loading.replaceWith(
    element("section", { class: "answer-place", "aria-labelledby": "check-title" }, [
      element("h1", { id: "check-title", class: "unseen", tabindex: "-1", text: "The check" }),
      ...campaign.answer.map((text, k) => element("p", { class: k === 0 ? "answer" : "answer-more", text })),
    ]),
    element("section", { "aria-labelledby": "runs-title" }, [
      element("h2", { id: "runs-title", text: "Runs" }),
      runsTable(campaign, runs, 1),
    ]),
  );
};

/** What a blind service does not show, and how to see it. */
export const closedView: View = async (root) => {
  root.append(
    element("section", {}, [
      element("h1", { text: "Not before the campaign is opened", tabindex: "-1" }),
      element("p", {
        text: "This page compares the configurations, and this service is blind. Once set-up and exclusions are right, `counterpoise evaluate` opens the campaign, and `counterpoise serve` without --blind shows the answer.",
      }),
      element("p", {}, [element("a", { href: "#/", text: "To the check" })]),
    ]),
  );
};
