import { measureOf } from "../../catalogue/measures.ts";
import type { Audit } from "../../contract/audit.ts";
import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import type { TextFrame } from "../text/frame.ts";
import { shortName } from "../text/nameText.ts";
import { decimalsFor, fixed, noValue } from "../text/numberText.ts";
import { packPieces } from "../text/packPieces.ts";
import { type TableRow, textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";
import type { LetteredConfiguration } from "./auditLetters.ts";

type Order = Audit["order"][number];

const sources: Readonly<Record<Order["source"], string>> = {
  started: "by the declared starts",
  "log times": "by the dates in the logs",
  manifest: "by the manifest, which may not be the order flown",
};

/** The order of the used runs per trajectory, blocks apart, what a steady drift would fake by it, and the drift the runs show. */
export function auditOrderText(
  evaluation: CampaignEvaluation,
  letters: readonly LetteredConfiguration[],
  { width, style }: TextFrame,
): string[] {
  const { order } = evaluation.audit;
  if (order.length === 0) return [];
  const rate = evaluation.settings.thresholds.audit_drift_per_run;
  const lines = order.flatMap((own) => [
    ...sequenceLines(evaluation, own, letters, width),
    ...wrapText(fakedSentence(own, letters, rate), width, { first: "  ", rest: "    " }),
  ]);
  const from = [...new Set(order.map((own) => sources[own.source]))].join("; ");
  const source = `Used runs, a bar between blocks; ${from}. How much later: in flights of any kind, taken as the verdicts take their difference.`;
  const unit = unitName(measureOf(evaluation.settings.primary).unit);
  const rows = order.flatMap(driftRows);
  const table =
    rows.length === 0
      ? []
      : [
          ...wrapText(
            `Drift from flight to flight within configurations, ${unit} a flight with its 95 % interval; and what it makes up of the difference by the order flown, ${unit}:`,
            width,
          ),
          ...textTable(["a flight", "from", "to", "p", "faked"], rows, width),
        ];
  return [style.heading("Order flown"), ...wrapText(source, width), ...lines, ...table];
}

/** "orbit: B W W B | W B B W" */
function sequenceLines(
  { runs }: CampaignEvaluation,
  { trajectory, runs: ids, sequence }: Order,
  letters: readonly LetteredConfiguration[],
  width: number,
): string[] {
  const blockOf = new Map(runs.map(({ id, block }) => [id, block]));
  const letterOf = new Map(letters.map(({ key, letter }) => [key, letter]));
  const pieces = ids.map((id, i) => {
    const apart = i > 0 && blockOf.get(id) !== blockOf.get(ids[i - 1]!);
    return `${apart ? "| " : ""}${letterOf.get(sequence[i]!) ?? shortName(sequence[i]!)}`;
  });
  const [first = "", ...rest] = pieces;
  return packPieces([`${shortName(trajectory)}: ${first}`, ...rest], width, { rest: "  " });
}

function fakedSentence(
  { later, faked }: Order,
  letters: readonly LetteredConfiguration[],
  rate: number | undefined,
): string {
  if (later === null || faked === null) return "one configuration alone: no order to speak of";
  if (later === 0) return "neither comes later: a steady drift fakes no difference";
  const letterOf = (which: "baseline" | "candidate"): string =>
    letters.find(({ role }) => role === which)?.letter ?? which;
  const [late, early] = later > 0 ? (["candidate", "baseline"] as const) : (["baseline", "candidate"] as const);
  const drift = rate === undefined ? "a steady drift" : `a drift of ${fixed(rate * 100, 1)} % a flight`;
  return `${letterOf(late)} comes ${fixed(Math.abs(later), 2)} flights later than ${letterOf(early)}: ${drift} would fake ${fixed(Math.abs(faked) * 100, 1)} %`;
}

function driftRows({ trajectory, drift }: Order): TableRow[] {
  if (drift.length === 0) return [];
  const { unit } = measureOf(drift[0]!.metric);
  const shown = (value: number): number => inShown(value, unit);
  const decimals = decimalsFor(drift.flatMap(({ slope_ci95 }) => (slope_ci95 ?? []).map(shown)));
  const text = (value: number | null | undefined): string =>
    value === null || value === undefined ? noValue : fixed(shown(value), decimals);
  return [
    { words: shortName(trajectory) },
    ...drift.map(({ subject, axis, slope, slope_ci95: interval, p, faked }) => ({
      label: `  ${subject} ${axis}`,
      cells: [
        text(slope),
        text(interval?.[0]),
        text(interval?.[1]),
        p === null ? noValue : p < 0.001 ? "< 0.001" : fixed(p, 3),
        text(faked),
      ],
    })),
  ];
}
