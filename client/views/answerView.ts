import type { CellsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { RunRow, RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import type { Cell } from "../../src/contract/cell.ts";
import { joinWords } from "../../src/words/amounts.ts";
import { addressOf } from "../app/address.ts";
import { element, placeName } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View, ViewContext } from "../app/View.ts";
import { countText, typeset } from "../app/words.ts";
import { boardDecimals } from "./answer/boardFacts.ts";
import { boardSection } from "./answer/boardSection.ts";
import { findingsList } from "./answer/findingsList.ts";
import { glance } from "./answer/glance.ts";
import { runsSection } from "./answer/runsSection.ts";

/** The first screen: the answer in words, the board it rests on, and the runs of the day. */
export const answerView: View = async (root, context) => {
  const { campaign, place, left } = context;
  const metric = (place.page === "answer" ? place.metric : null) ?? campaign.primary;
  const loading = element("p", { class: "quiet loading", text: "Fetching the verdicts…" });
  root.append(loading);
  const [{ cells }, { runs }] = await Promise.all([
    fetchAnswer<CellsAnswer>(apiPaths.cells, { signal: left, query: { metric } }),
    fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left }),
  ]);
  loading.remove();
  const family = cells.filter((cell) => cell.in_family);
  const both = metric === campaign.primary ? withExclusions(family, runs) : "";
  root.append(
    element("section", { class: "answer-place", "aria-labelledby": "answer-title" }, [
      element("h1", { id: "answer-title", class: "unseen", tabindex: "-1", text: "The answer" }),
      glance(campaign, metric === campaign.primary ? family : [], runs),
      ...campaign.answer.map((text, k) =>
        element("p", { class: k === 0 ? "answer" : "answer-more", text: typeset(text) }),
      ),
      campaign.costs === null || campaign.costs === ""
        ? null
        : element("p", { class: "answer-more answer-costs" }, [
            typeset(campaign.costs),
            " ",
            element("a", { href: addressOf({ page: "costs" }), text: "What it costs" }),
          ]),
      both === "" ? null : element("p", { class: "answer-more both-ways", text: both }),
      unrecorded(context),
    ]),
    boardSection(context, cells, metric),
    ...[findingsList(runs)].filter((part) => part !== null),
    runsSection(context, runs, Math.max(1, boardDecimals(family.length > 0 ? family : cells))),
  );
};

function unrecorded({ campaign: { looks } }: ViewContext): HTMLElement | null {
  if (looks.recorded) return null;
  const text = "This look could not be written to looks.jsonl beside the manifest: the count of looks will miss it.";
  return element("p", { class: "quiet small", text });
}

/**
 * What a person's exclusions do to the verdicts; "" where nobody excluded a run that could be put back.
 *
 * @param family  cells with a verdict
 */
export function withExclusions(family: readonly Cell[], runs: readonly RunRow[]): string {
  const excluded = runs.filter(
    ({ decision, checks }) =>
      decision !== null && !decision.include && !checks.some(({ severity }) => severity === "unusable"),
  );
  if (excluded.length === 0) return "";
  const named = joinWords(excluded.map(({ id }) => id));
  const back = `With ${named} put back, which ${excluded.length === 1 ? "a person excluded" : "were excluded by a person"},`;
  const changed = family.filter(({ verdict, verdict_all_runs: all }) => all !== null && all !== verdict);
  if (changed.length === 0) return `${back} every verdict stays what it is.`;
  const each = changed.map(
    (cell) => `${placeName(cell)} would be “${cell.verdict_all_runs}” instead of “${cell.verdict}”`,
  );
  return `${back} ${countText(changed.length, "verdict")} would be another: ${each.join("; ")}.`;
}
