import type { Cell } from "../../../src/contract/cell.ts";
import { percentPieces, unitName } from "../../../src/words/amounts.ts";
import { element } from "../../app/element.ts";
import { amount, intervalText, noValue, probabilityValue, signedAmount, sizeText } from "../../app/words.ts";
import { csvText, downloadText, fileName } from "../../figures/saveDrawing.ts";
import type { CellLabels } from "./cellWords.ts";

/** name, as read, as stored: SI */
type Row = readonly [string, string, number | string | null];

/** Every number the cell rests on, as a person reads it; with all its figures in the file. */
export function cellNumbers(cell: Cell, labels: CellLabels): HTMLElement {
  const rows = numberRows(cell, labels);
  const name = fileName(`cell-${cell.trajectory}-${cell.subject}-${cell.axis}-${cell.metric}`);
  const save = (): void =>
    downloadText(
      `${name}.csv`,
      "text/csv",
      csvText({
        columns: ["quantity", `value (SI, ${cell.unit})`],
        rows: rows.map(([what, , value]) => [what, value]),
      }),
    );
  return element("div", {}, [
    element("table", { class: "figures numbers" }, [
      element("caption", { class: "unseen", text: "Numbers of this cell" }),
      element("thead", {}, [
        element("tr", {}, [
          element("th", { scope: "col", text: "Quantity" }),
          element("th", { scope: "col", class: "number", text: "Value" }),
        ]),
      ]),
      element(
        "tbody",
        {},
        rows.map(([what, shown, value]) =>
          element("tr", {}, [
            element("th", { scope: "row", text: what }),
            element("td", { class: "number" }, [
              typeof value === "number" ? element("data", { value, text: shown }) : shown,
            ]),
          ]),
        ),
      ),
    ]),
    element("p", { class: "downloads small" }, [
      "Download ",
      element("button", {
        type: "button",
        class: "plain",
        text: "CSV",
        "aria-label": "Download the numbers of this cell as CSV",
        on: { click: save },
      }),
    ]),
  ]);
}

/** The constant offset, and the same comparison without it. */
function constantRows({ constant, unit }: Cell, withUnit: (text: string) => string, decimals: number): Row[] {
  if (constant === null) return [];
  const length = (name: string, value: number | null | undefined): Row => [
    name,
    withUnit(signedAmount(value ?? null, unit, decimals)),
    value ?? null,
  ];
  return [
    ["Share of the mean square that is a constant offset", `${(100 * constant.share).toFixed(0)} %`, constant.share],
    length("Mean error over all runs", constant.common),
    length("Step of the mean error, candidate − baseline", constant.step),
    length("Largest step of the mean error between blocks", constant.block_step),
    length("Difference of the standard deviation", constant.sd?.difference),
    ["p of that difference alone", probabilityValue(constant.sd?.p ?? null), constant.sd?.p ?? null],
    length("Difference of the synchronous error", constant.synchronous?.difference),
  ];
}

/** Of a look that is paid for. */
function lookRows({ look }: Cell): Row[] {
  if (look === undefined) return [];
  const p = (name: string, value: number): Row => [name, probabilityValue(value), value];
  const share = (name: string, value: number | null): Row => [
    name,
    value === null ? noValue : `${(100 * value).toFixed(value < 0.01 ? 2 : 1)} %`,
    value,
  ];
  return [
    share("Flown of the runs declared", look.fractions.at(-1)!),
    p("p of this cell alone below which it is claimed at this look", look.threshold),
    p("Smallest p over all looks, as it enters the family", look.entered),
    share("Claimed at an earlier look, with so much flown", look.claimed?.fraction ?? null),
    share("Chance that the smallest difference is still claimed when all are flown", look.chance),
  ];
}

/** The rows of that table: what it is, as read, as stored. */
export function numberRows(cell: Cell, { decimals, runDecimals, ...labels }: CellLabels): Row[] {
  const more = Math.min(3, decimals + 1);
  const withUnit = (text: string): string => (text === noValue ? text : `${text} ${unitName(cell.unit)}`);
  const interval = (ends: readonly [number, number] | null): string =>
    withUnit(ends === null ? noValue : intervalText(ends, cell.unit, decimals));
  const side = (label: string, { n, mean, sd }: Cell["baseline"]): Row[] => [
    [`Runs, ${label}`, String(n), n],
    [`Mean, ${label}`, withUnit(amount(mean, cell.unit, runDecimals)), mean],
    [
      `Standard deviation between runs (n − 1), ${label}`,
      withUnit(amount(sd, cell.unit, Math.min(3, runDecimals + 1))),
      sd,
    ],
  ];
  const p = (name: string, value: number | null): Row => [name, probabilityValue(value), value];
  const { pair, runs_needed: needed, arrangements } = cell;
  const counted = arrangements === null ? "" : ` (${arrangements} arrangements, ${cell.exact ? "all" : "a sample"})`;
  return [
    ...side(labels.baseline, cell.baseline),
    ...side(labels.candidate, cell.candidate),
    ["Difference, candidate − baseline", withUnit(signedAmount(cell.difference, cell.unit, decimals)), cell.difference],
    ["Difference over the baseline's mean", percentPieces(cell)[0]?.replace("-", "−") ?? "–", cell.ratio],
    [
      "95 % interval of that (Fieller)",
      percentPieces(cell)[1]?.replaceAll("-", "−") ??
        "– (the baseline is not distinguished from zero, or there is no spread)",
      cell.ratio_ci95?.join(" to ") ?? null,
    ],
    ["95 % interval", interval(cell.ci95), cell.ci95?.join(" to ") ?? null],
    ["90 % interval", interval(cell.ci90), cell.ci90?.join(" to ") ?? null],
    ["Method", cell.method === "blocked" ? "within blocks (linear model)" : "Welch on run values", cell.method],
    ["Standard error", withUnit(amount(cell.se, cell.unit, more)), cell.se],
    ["Degrees of freedom", cell.df === null ? "–" : cell.df.toFixed(1), cell.df],
    p("p of this cell alone (two-sided)", cell.p),
    p("p among the family (Holm)", cell.p_family),
    p(`p by permutation${counted}`, cell.p_permutation),
    p("Least p by permutation these runs could give", cell.p_least),
    p("p of equivalence (two one-sided tests)", cell.p_equivalence),
    [
      "Smallest difference that matters",
      cell.smallest_difference === null ? "–" : sizeText(cell.smallest_difference, cell.unit),
      cell.smallest_difference,
    ],
    [
      "Two runs of one configuration and block differ by less than this in 95 of 100 pairs",
      pair === null ? "–" : withUnit(amount(pair.limit, cell.unit, decimals)),
      pair?.limit ?? null,
    ],
    ...constantRows(cell, withUnit, decimals),
    ...lookRows(cell),
    [
      "Runs needed per configuration",
      needed === null ? "–" : `${needed.middle} (${needed.low} to ${needed.high})`,
      needed === null ? null : `${needed.low}; ${needed.middle}; ${needed.high}`,
    ],
  ];
}
