import { measureAxes } from "../../../src/catalogue/measures.ts";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { unitName } from "../../../src/words/amounts.ts";
import { columnHead } from "../../../src/words/places.ts";
import { addressOf } from "../../app/address.ts";
import { element, placeName } from "../../app/element.ts";
import { severitySigns, verdictSigns } from "../../app/statusWords.ts";
import { countText, signedAmount } from "../../app/words.ts";
import { walkBoard } from "./board.ts";
import { boardDecimals, cellDecimals } from "./boardFacts.ts";
import { isDoubted } from "./runsTable.ts";

/** runs that are named; the others are counted */
const mostNamed = 6;

/**
 * The answer at a glance: which runs are lost or doubted, and of every cell of the family the sign, the word and the difference.
 * It says nothing that the board does not.
 *
 * @param family  cells with a verdict; empty: there is no grid
 */
export function glance(campaign: CampaignView, family: readonly Cell[], runs: readonly RunRow[]): HTMLElement {
  return element("div", { class: "glance" }, [runsLine(runs), family.length === 0 ? null : grid(campaign, family)]);
}

/** "✕ 3 of 20 runs lost: flight-05, ...  ▲ 2 doubted: ..."; strong from a third of the runs on. */
function runsLine(runs: readonly RunRow[]): HTMLElement {
  const lost = runs.filter(({ used }) => !used);
  const doubted = runs.filter(isDoubted);
  const many = lost.length > 0 && 3 * lost.length >= runs.length;
  const part = (sign: string, words: string, own: readonly RunRow[]): HTMLElement | null =>
    own.length === 0
      ? null
      : element("span", { class: "glance-part" }, [
          element("span", { "aria-hidden": "true", text: `${sign} ` }),
          `${words}: `,
          ...own.slice(0, mostNamed).flatMap(({ id }, k) => [
            k === 0 ? "" : ", ",
            element("a", {
              href: addressOf({ page: "run", run: id, subject: "vehicle", window: null }),
              text: id,
              data: { run: id },
            }),
          ]),
          own.length > mostNamed ? ` and ${own.length - mostNamed} more` : "",
        ]);
  return element("p", { class: many ? "glance-runs many" : "glance-runs" }, [
    part(severitySigns.unusable, `${lost.length} of ${countText(runs.length, "run")} not used`, lost),
    part(severitySigns.doubt, `${doubted.length} doubted`, doubted),
    lost.length + doubted.length === 0 ? `All ${countText(runs.length, "run")} used, none doubted.` : null,
  ]);
}

function grid(campaign: CampaignView, family: readonly Cell[]): HTMLElement {
  const { metric, unit } = family[0]!;
  const axes = measureAxes(metric).filter((axis) => family.some((cell) => cell.axis === axis));
  const common = boardDecimals(family);
  const rows = campaign.trajectories.flatMap(({ name }) =>
    campaign.subjects.flatMap((subject) => {
      const own = family.filter((cell) => cell.trajectory === name && cell.subject === subject);
      return own.length === 0 ? [] : [{ name, subject, own }];
    }),
  );
  const table = element("table", { class: "glance-grid" }, [
    element("caption", { class: "unseen", text: `Verdicts and differences at a glance, ${unitName(unit)}` }),
    element("thead", {}, [
      element("tr", {}, [
        element("td", {}),
        ...axes.map((axis) => element("th", { scope: "col", text: `${columnHead(axis, family)}, ${unitName(unit)}` })),
      ]),
    ]),
    element(
      "tbody",
      {},
      rows.map(({ name, subject, own }) =>
        element("tr", {}, [
          element("th", { scope: "row", text: `${name}, ${subject}` }),
          ...axes.map((axis) => {
            const cell = own.find((one) => one.axis === axis);
            return element("td", {}, [cell === undefined ? null : glanceCell(cell, common)]);
          }),
        ]),
      ),
    ),
  ]);
  walkBoard(table);
  return table;
}

function glanceCell(cell: Cell, common: number): HTMLElement | null {
  const { verdict, trajectory, subject, axis, metric, difference, unit } = cell;
  if (verdict === null) return null;
  return element(
    "a",
    { class: "glance-cell", href: addressOf({ page: "cell", trajectory, subject, axis, metric }), data: { verdict } },
    [
      element("span", { class: "unseen", text: `${placeName(cell)}: ` }),
      element("span", { class: "verdict-sign", "aria-hidden": "true", text: verdictSigns[verdict] }),
      element("span", { class: "glance-word", text: verdict }),
      element("span", {
        class: "glance-difference",
        text: signedAmount(difference, unit, cellDecimals(cell, common)),
      }),
    ],
  );
}
