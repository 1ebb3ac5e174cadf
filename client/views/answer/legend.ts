import { measureOf } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { measureLabel } from "../../../src/words/places.ts";
import { element, labelOf } from "../../app/element.ts";
import { verdictMeanings, verdictSigns } from "../../app/statusWords.ts";
import { sizeText } from "../../app/words.ts";
import { runSign } from "../../figures/runLine.ts";
import { svg } from "../../figures/svg.ts";

/** How to read the board: every sign of its drawings, and what each verdict says. */
export function legend(campaign: CampaignView, cells: readonly Cell[], metric: Cell["metric"]): HTMLElement {
  const [baseline, candidate] = [labelOf(campaign, campaign.baseline), labelOf(campaign, campaign.candidate)];
  const { unit, steadier } = measureOf(metric);
  const smallest = [...new Set(cells.map((cell) => cell.smallest_difference))];
  const only = smallest.length === 1 ? smallest[0]! : null;
  const blocked = cells.some(({ method }) => method === "blocked");
  const rows: [SVGElement[], string][] = [
    [
      [runSign("baseline", 20, 9, 4)],
      `a run of “${baseline}”: how far its ${measureLabel(metric)} lies from the mean of these runs, which is the 0 of the scale`,
    ],
    [
      [runSign("candidate", 20, 9, 4)],
      `a run of “${candidate}”, measured from the same 0: ${steadier === "lower" ? "left of it steadier, right of it less steady" : "right of it steadier, left of it less steady"}`,
    ],
    [
      [
        svg("path", { class: "interval", d: "M4,5v8M4,9H36M36,5v8" }),
        svg("path", { class: "interval inner", d: "M9,9H31" }),
        svg("rect", { class: "estimate", x: 17, y: 3, width: 6, height: 12 }),
      ],
      `the difference of the two configurations with its 95 % interval, and thick the 90 % one, by which “no difference that matters” is judged${blocked ? "; compared within blocks, so shifts from day to day that scatter the runs do not widen it" : ""}`,
    ],
  ];
  if (smallest.some((each) => each !== null)) {
    rows.push([
      [
        svg("rect", { class: "band", x: 6, y: 1, width: 28, height: 16 }),
        svg("line", { class: "zero", x1: 20, x2: 20, y1: 1, y2: 17 }),
      ],
      `no difference (line), and up to where a difference would be too small to matter${only === null ? "" : `: ${sizeText(only, unit)} to either side`}`,
    ]);
  }
  const verdicts = cells.some(({ verdict }) => verdict !== null);
  return element("details", { class: "legend small", open: true }, [
    element("summary", { text: "How to read the board" }),
    element("div", { class: "legend-parts" }, [
      element(
        "ul",
        { class: "legend-signs" },
        rows.map(([drawn, text]) =>
          element("li", {}, [
            svg(
              "svg",
              { class: "drawing swatch", viewBox: "0 0 40 18", width: 40, height: 18, "aria-hidden": "true" },
              drawn,
            ),
            element("span", { text }),
          ]),
        ),
      ),
      verdicts
        ? element(
            "ul",
            { class: "legend-signs" },
            Object.entries(verdictMeanings).map(([verdict, meaning]) =>
              element("li", {}, [
                element("span", {
                  class: "verdict-sign",
                  "aria-hidden": "true",
                  text: verdictSigns[verdict as keyof typeof verdictSigns],
                }),
                element("span", {}, [element("strong", { text: verdict }), `: ${meaning}`]),
              ]),
            ),
          )
        : null,
    ]),
    verdicts
      ? element("p", {
          class: "quiet",
          text: `Pointed at, a cell says more: its share, the runs of “${baseline}” v “${candidate}” that count, and p: of the cell among the ${campaign.family} of the family (Holm)${campaign.family_declared ? ", as the manifest declares it" : ""}: every cell more is a chance more to be fooled by scatter, and p allows for that.`,
        })
      : null,
  ]);
}
