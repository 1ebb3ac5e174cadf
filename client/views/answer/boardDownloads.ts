import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { element } from "../../app/element.ts";
import { boardPicture } from "../../figures/boardPicture.ts";
import { fileName } from "../../figures/download.ts";
import { savePng, saveSvg } from "../../figures/saveDrawing.ts";
import { boardDecimals, cellDecimals } from "./boardFacts.ts";
import { noiseFloor } from "./noiseFloor.ts";

/** The board as one picture, and its numbers as a table. */
export function boardDownloads(campaign: CampaignView, cells: readonly Cell[], caption: string): HTMLElement {
  const name = fileName(`board-${cells[0]?.metric ?? ""}`);
  const common = boardDecimals(cells);
  const picture = (): SVGSVGElement =>
    boardPicture(cells, {
      caption,
      decimals: (cell) => cellDecimals(cell, common),
      noise: (cell) => noiseFloor(campaign, cell),
      trajectories: campaign.trajectories.map((trajectory) => trajectory.name),
      subjects: campaign.subjects,
    });
  const button = (what: string, save: () => void): HTMLElement =>
    element("button", {
      type: "button",
      class: "plain",
      text: what,
      "aria-label": `Download the board as ${what}`,
      on: { click: save },
    });
  return element("p", { class: "downloads small" }, [
    "Download the board ",
    button("SVG", () => saveSvg(picture(), name)),
    button("PNG", () => void savePng(picture(), name)),
    element("a", { href: apiPaths.export.cells, download: "cells.csv", text: "CSV (all cells)" }),
  ]);
}
