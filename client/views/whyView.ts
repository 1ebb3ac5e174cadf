import "../style/run.css";
import "../style/why.css";
import type { ReasonsAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { budgetPart, componentsPart } from "./why/budgetPart.ts";
import { framesPart } from "./why/framesPart.ts";
import { imbalancePart, movingPart } from "./why/movingPart.ts";
import { synchronousPart } from "./why/synchronousPart.ts";
import { toFlightPart } from "./why/toFlightPart.ts";

/** Why the differences are as they are. Nothing here carries a verdict. */
export const whyView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", role: "status", text: "Fetching the reasons …" });
  root.append(loading);
  const {
    reasons,
    moving,
    bench,
    bench_to_flight: together,
    imbalance,
  } = await fetchAnswer<ReasonsAnswer>(apiPaths.reasons, { signal: left });
  loading.replaceWith(
    element("h1", { text: "Why it is so", tabindex: "-1" }),
    element("p", {
      class: "reading",
      text: "The verdicts stand on the first page. Here is what they are made of; all of it is exploratory: shown to explain, without a verdict of its own.",
    }),
    movingPart(campaign, reasons.moving, moving),
    ...(together === undefined ? [] : [toFlightPart(campaign, together, bench)]),
    synchronousPart(campaign, reasons.synchronous),
    imbalancePart(
      imbalance,
      reasons.moving.some(({ remaining }) => remaining !== null),
    ),
    budgetPart(campaign, reasons.budget),
    framesPart(campaign, reasons.frames),
    componentsPart(campaign, reasons.components),
  );
};
