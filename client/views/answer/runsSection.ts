import type { CellAxis } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import { axes, type Subject } from "../../../src/foundation/tracks.ts";
import { capital, element } from "../../app/element.ts";
import { type RunsSight, type RunsUse, runsUses, type ViewContext } from "../../app/View.ts";
import { countText } from "../../app/words.ts";
import { orderFigure } from "../../figures/orderFigure.ts";
import { atWidth, likelyWidth } from "../../figures/panels.ts";
import { roleOf } from "./runRow.ts";
import { isDoubted, rowWords, runsTable } from "./runsTable.ts";

/** What is drawn of the runs. */
interface DrawnRms {
  readonly key: string;
  readonly subject: Subject;
  readonly axis: CellAxis;
  readonly text: string;
}

const useWords: Readonly<Record<RunsUse, string>> = { used: "used", "left-out": "left out", doubted: "doubted" };

const isOf: Readonly<Record<RunsUse, (run: RunRow) => boolean>> = {
  used: ({ used }) => used,
  "left-out": ({ used }) => !used,
  doubted: isDoubted,
};

/** The runs of the day as a drawing in the order flown, and as a table to sort, filter and group; the address holds how. */
export function runsSection(
  { campaign, place, note }: Pick<ViewContext, "campaign" | "place" | "note">,
  runs: readonly RunRow[],
  decimals: number,
): HTMLElement {
  const metric = place.page === "answer" ? place.metric : null;
  let sight: RunsSight = (place.page === "answer" ? place.runs : undefined) ?? {};
  const drawable = drawableOf(campaign, runs);
  const flown = [...runs].sort((a, b) => a.order - b.order);
  const tablePlace = element("div", { class: "runs-place" });
  const shownCount = element("span", { class: "quiet", role: "status" });
  const drawing = element("div", { class: "drawing-place order-place" });
  const rmsDrawn = (): DrawnRms | undefined => drawable.find(({ key }) => key === sight.drawn) ?? drawable[0];
  const chosen = (): RunRow[] => {
    const words = (sight.find ?? "").toLowerCase().split(/\s+/);
    return flown.filter(
      (run) =>
        (sight.use === undefined || isOf[sight.use](run)) &&
        words.every((word) => rowWords(campaign, run).includes(word)),
    );
  };
  let width = Math.round(likelyWidth());
  const draw = (): void => {
    const shown = chosen();
    const rms = rmsDrawn();
    tablePlace.replaceChildren(runsTable(campaign, shown, decimals, { sight, change, strip: rms ?? null }));
    shownCount.textContent = shown.length === runs.length ? "" : `${shown.length} of ${countText(runs.length, "run")}`;
    const ordered = shown.map((run) => ({ ...run, role: roleOf(campaign, run) }));
    const figure = rms === undefined ? null : orderFigure(ordered, { width, ...rms, decimals });
    drawing.replaceChildren(figure ?? element("p", { class: "quiet", text: "None of these runs has such an error." }));
  };
  function change(now: RunsSight): void {
    sight = now;
    note({ page: "answer", metric, runs: sight });
    draw();
  }
  draw();
  if (drawable.length > 0)
    atWidth(
      drawing,
      (now) => {
        width = now;
        draw();
      },
      width,
    );
  return element("section", { "aria-labelledby": "runs-title" }, [
    element("h2", { id: "runs-title", text: "Runs of the day" }),
    runsControls(campaign, { sight: () => sight, change, drawable, drawn: rmsDrawn()?.key, shownCount }),
    ...(drawable.length === 0 ? [] : [drawing, drawingFoot(drawing)]),
    tablePlace,
    element("p", { class: "downloads small" }, [
      "Download ",
      element("a", { href: apiPaths.export.runs, download: "runs.csv", text: "runs.csv" }),
      element("a", { href: apiPaths.export.cells, download: "cells.csv", text: "cells.csv" }),
      element("a", { href: apiPaths.export.evaluation, download: "evaluation.json", text: "evaluation.json" }),
    ]),
  ]);
}

function drawingFoot(drawing: HTMLElement): HTMLElement {
  return element("p", { class: "downloads small" }, [
    "Rms of each run in the order flown, each trajectory on its own scale. Download ",
    element("button", {
      type: "button",
      class: "plain",
      text: "SVG",
      "aria-label": "Download the runs in the order flown as SVG",
      on: {
        click: async () => {
          const { saveSvg } = await import("../../figures/saveDrawing.ts");
          const own = drawing.querySelector<SVGSVGElement>("svg.drawing");
          if (own !== null) saveSvg(own, "runs-in-order");
        },
      },
    }),
  ]);
}

/** Whose rms the runs have; the one first that the answer is most about. */
function drawableOf({ subjects }: CampaignView, runs: readonly RunRow[]): DrawnRms[] {
  const own = [...subjects].filter((subject) => runs.some(({ rms }) => rms[subject] !== undefined)).reverse();
  return own
    .filter((subject) => subject !== "arm")
    .flatMap((subject) =>
      (["norm", ...axes] as const).map((axis) => ({
        key: `${subject}-${axis}`,
        subject,
        axis,
        text: `${subject}, ${axis === "norm" ? "overall" : axis}`,
      })),
    );
}

function runsControls(
  campaign: CampaignView,
  options: {
    readonly sight: () => RunsSight;
    readonly change: (sight: RunsSight) => void;
    readonly drawable: readonly DrawnRms[];
    readonly drawn: string | undefined;
    readonly shownCount: HTMLElement;
  },
): HTMLElement {
  const { sight, change, drawable } = options;
  const without = (...keys: (keyof RunsSight)[]): RunsSight =>
    Object.fromEntries(Object.entries(sight()).filter(([key]) => !keys.includes(key as keyof RunsSight)));
  const option = (value: string, text: string, chosen: boolean): HTMLElement =>
    element("option", { value, text, selected: chosen });
  const find = element("input", {
    type: "text",
    id: "runs-find",
    size: 18,
    autocomplete: "off",
    on: { input: () => change({ ...without("find"), ...(find.value.trim() && { find: find.value.trim() }) }) },
  });
  find.value = sight().find ?? "";
  const use = element(
    "select",
    {
      id: "runs-use",
      on: {
        change: () => {
          const wanted = runsUses.find((each) => each === use.value);
          change({ ...without("use"), ...(wanted && { use: wanted }) });
        },
      },
    },
    [
      option("", "all", sight().use === undefined),
      ...runsUses.map((each) => option(each, useWords[each], sight().use === each)),
    ],
  );
  const grouped = element("input", {
    type: "checkbox",
    checked: sight().grouped === true,
    on: { change: () => change({ ...without("grouped"), ...(grouped.checked && { grouped: true }) }) },
  });
  const drawn = element(
    "select",
    { id: "runs-drawn", on: { change: () => change({ ...without("drawn"), drawn: drawn.value }) } },
    drawable.map(({ key, text }) => option(key, capital(text), key === options.drawn)),
  );
  return element("div", { class: "runs-controls no-print", role: "group", "aria-label": "Which runs, and how" }, [
    element("label", { for: "runs-find" }, ["Find ", find]),
    element("label", { for: "runs-use" }, ["Show ", use]),
    campaign.blocks.length < 2 ? null : element("label", {}, [grouped, " by block"]),
    drawable.length === 0 ? null : element("label", { for: "runs-drawn" }, ["Drawn: rms of ", drawn]),
    options.shownCount,
  ]);
}
