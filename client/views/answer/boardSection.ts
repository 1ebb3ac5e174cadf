import { type MeasureId, measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { signWords, unitName } from "../../../src/words/amounts.ts";
import { measureLabel } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { labelOf } from "../../app/names.ts";
import type { ViewContext } from "../../app/View.ts";
import { sizeText } from "../../app/words.ts";
import { board, numberRemarks } from "./board.ts";
import { boardDownloads } from "./boardDownloads.ts";
import { boardNotes } from "./boardNotes.ts";
import { legend } from "./legend.ts";
import { metricChooser } from "./metricChooser.ts";

/** The board with all that explains it: the family with its verdicts, or another metric without any. */
export function boardSection({ campaign }: ViewContext, cells: readonly Cell[], metric: MeasureId): HTMLElement {
  const family = cells.filter((cell) => cell.in_family);
  const judged = metric === campaign.primary && family.length > 0;
  const shown = judged ? family : cells;
  const beside = judged ? cells.filter((cell) => !cell.in_family) : [];
  const numbered = numberRemarks(shown);
  const caption = boardCaption(campaign, metric);
  const parts: (HTMLElement | null)[] = [
    element("div", { class: "board-head" }, [
      element("h2", { id: "board-title", text: judged ? "Verdicts" : `Another metric: ${measureLabel(metric)}` }),
      metricChooser(campaign, metric),
    ]),
    judged
      ? null
      : element("p", {
          class: "exploratory",
          text: `Exploratory: shown without verdicts. The verdicts are about the ${measureLabel(campaign.primary)}, as the manifest declared before these numbers were seen; a difference that is found by trying metrics is no evidence.`,
        }),
  ];
  if (shown.length === 0) {
    parts.push(
      element("p", {
        text: "There are no cells: a cell needs runs of both configurations on a trajectory. See the runs below for what is missing.",
      }),
    );
  } else {
    parts.push(
      board(campaign, shown, { caption, numbered }),
      boardNotes(numbered),
      boardDownloads(campaign, shown, caption),
      legend(campaign, shown, metric),
    );
  }
  if (beside.length > 0) {
    parts.push(
      element("details", { class: "beside" }, [
        element("summary", { text: "The arm against its command, in the vehicle's frame (exploratory, no verdicts)" }),
        board(campaign, beside, { caption, numbered: new Map() }),
      ]),
    );
  }
  return element(
    "section",
    { class: "board-section", "aria-labelledby": "board-title" },
    parts.filter((part) => part !== null),
  );
}

function boardCaption(campaign: CampaignView, metric: MeasureId): string {
  const [candidate, baseline] = [campaign.candidate, campaign.baseline].map((name) => labelOf(campaign, name));
  const what = measureLabel(metric);
  const given = Object.values(campaign.smallest_difference).filter((value) => value !== null);
  const { unit, steadier } = measureOf(metric);
  const known = new Set(given).size === 1 && unit === measureOf(campaign.primary).unit;
  const smallest = known ? ` Smallest difference that matters: ${sizeText(given[0]!, unit)}.` : "";
  return `${what.charAt(0).toUpperCase()}${what.slice(1)}, “${candidate}” minus “${baseline}”, ${unitName(unit)} with 95 % interval; ${signWords(steadier)}. All drawings on one scale.${smallest}`;
}
