import { measureOf } from "../../catalogue/measures.ts";
import type { Cell } from "../../contract/cell.ts";
import { type CampaignEvaluation, pairsOf } from "../../contract/evaluation.ts";
import { inShown, percentPieces, unitName } from "../../words/amounts.ts";
import { costRange, costRows, costSource } from "../../words/costWords.ts";
import { axisAt } from "../../words/places.ts";
import { boardDecimals, differencePieces } from "../boardCell.ts";
import { exclusionReason, familyCells, isUnusable, namedConfigurations, quotedConfiguration } from "../runGroups.ts";
import { fixed, noValue, probabilityText } from "../text/numbers.ts";

/** A table of words, for a page as for a paper: heads, rows, and which columns hold numbers. */
export interface PaperTable {
  readonly caption: string;
  readonly heads: readonly string[];
  readonly rows: readonly (readonly string[])[];
  readonly numeric: readonly number[];
}

/** The verdicts of the family, a cell a row: means, difference with its interval, change, p, verdict, and what speaks against it. */
export function verdictTable(evaluation: CampaignEvaluation): PaperTable {
  const family = familyCells(evaluation);
  const decimals = family.length === 0 ? 0 : boardDecimals(family);
  const unit = family[0]?.unit ?? "m";
  const mean = (side: Cell["baseline"]): string =>
    side.mean === null ? noValue : fixed(inShown(side.mean, unit), decimals);
  return {
    caption: `Verdicts: ${measureOf(evaluation.settings.primary).label}, ${quotedConfiguration(evaluation, evaluation.settings.candidate)} less ${quotedConfiguration(evaluation, evaluation.settings.baseline)}, in ${unitName(unit)}`,
    heads: [
      "trajectory",
      "subject",
      "axis",
      "runs",
      "baseline",
      "candidate",
      "difference",
      "95 % interval",
      "change (95 % interval)",
      "p among family",
      "verdict",
      "beside it",
    ],
    rows: family.map((cell) => {
      const [difference = noValue, interval = noValue] = differencePieces(cell, decimals);
      return [
        cell.trajectory,
        cell.subject,
        axisAt(evaluation.settings.judged_in, cell),
        `${cell.baseline.n} v ${cell.candidate.n}`,
        mean(cell.baseline),
        mean(cell.candidate),
        difference,
        interval,
        percentPieces(cell).join(" ") || noValue,
        cell.p_family === null ? noValue : probabilityText(cell.p_family).replace(/^p /, ""),
        cell.verdict ?? noValue,
        [...(cell.doubts.length > 0 ? [`doubted for ${cell.doubts.join(", ")}`] : []), ...cell.fragile].join("; "),
      ];
    }),
    numeric: [4, 5, 6, 7, 8, 9],
  };
}

/** The table of verdicts of a pair: the leading one has no number. */
export const verdictsName = (k: number): string => (k === 0 ? "verdicts" : `verdicts-${k + 1}`);

/** The tables of the report, by name: of the page, and for a paper. */
export function paperTables(evaluation: CampaignEvaluation): ReadonlyMap<string, PaperTable> {
  const { settings, costs } = evaluation;
  const named = namedConfigurations(evaluation);
  const grams = (mass: number | null): string => (mass === null ? noValue : fixed(1000 * mass, 0));
  const ledger: PaperTable = {
    caption: "Configurations and their masses",
    heads: ["configuration", "role", "added, g", "take-off mass, g", "counterweights"],
    rows: named.map(({ key, label, role }) => {
      const { added_mass: added, counterweights } = settings.configurations[key]!;
      const weighed = evaluation.audit.configurations[key]?.takeoff_mass;
      const weights = counterweights.map(
        ({ mass, at }) => `${grams(mass)} g at [${at.map((metres) => fixed(1000 * metres, 0)).join(", ")}] mm`,
      );
      return [
        label,
        role ?? "",
        grams(added),
        weighed?.mean == null ? noValue : `${grams(weighed.mean)} (${weighed.n} runs)`,
        weights.join("; ") || noValue,
      ];
    }),
    numeric: [2],
  };
  const runs: PaperTable = {
    caption: "Runs, in the order of the manifest",
    heads: ["run", "configuration", "trajectory", "block", "pack", "take-off mass, g", "used", "why not"],
    rows: evaluation.runs.map((run) => [
      run.id,
      named.find(({ key }) => key === run.configuration)?.label ?? run.configuration,
      run.trajectory,
      run.block ?? "",
      run.battery ?? "",
      grams(run.takeoff_mass),
      run.used ? "yes" : "no",
      run.used ? "" : whyNot(run),
    ]),
    numeric: [5],
  };
  const found = new Map([
    ...pairsOf(evaluation).map((pair, k) => [verdictsName(k), verdictTable(pair)] as const),
    ["configurations", ledger],
    ["runs", runs],
  ]);
  if (costs !== null) {
    const priced = named.filter(({ key }) => costs.configurations[key] !== undefined);
    found.set("costs", {
      caption: "What the mass costs",
      heads: ["figure", "configuration", "value", "from to", "source"],
      rows: costRows(costs).flatMap((row) =>
        priced.flatMap(({ key, label }) => {
          const figure = row.of(costs.configurations[key]!);
          if (figure === null) return [];
          return [
            [
              row.unit === "" ? row.what : `${row.what}, ${row.unit}`,
              label,
              fixed(row.factor * figure.value, row.decimals),
              costRange(figure, row, fixed) || noValue,
              costSource(figure),
            ],
          ];
        }),
      ),
      numeric: [2, 3],
    });
  }
  return found;
}

function whyNot(run: CampaignEvaluation["runs"][number]): string {
  if (run.outcome === "aborted") return "aborted";
  const excluded = exclusionReason(run);
  if (excluded !== null) return `excluded: ${excluded}`;
  if (!isUnusable(run)) return "";
  const [gravest] = run.checks.filter(({ severity }) => severity === "unusable");
  return `unusable: ${gravest?.code}: ${gravest?.message}`;
}
