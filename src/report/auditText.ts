import { measureOf } from "../catalogue/measures.ts";
import type { Audit } from "../contract/audit.ts";
import type { CampaignEvaluation } from "../contract/evaluation.ts";
import { inShown, unitName } from "../words/amounts.ts";
import { openingText } from "../words/findingWords.ts";
import { looksText } from "../words/lookWords.ts";
import { axisAt, type JudgedTrajectories } from "../words/places.ts";
import { auditFindings, auditFitted, auditLetters, type LetteredConfiguration } from "./audit/auditFindings.ts";
import { blockRows, configurationRows } from "./audit/auditTables.ts";
import { packPieces, plainText, type TableRow, type TextFrame, textTable, wrapText } from "./text/layout.ts";
import { shortName } from "./text/nameText.ts";
import { decimalsFor, fixed, noValue } from "./text/numbers.ts";

type Order = Audit["order"][number];

const sources: Readonly<Record<Order["source"], string>> = {
  started: "by the declared starts",
  "log times": "by the dates in the logs",
  manifest: "by the manifest, which may not be the order flown",
};

/** The order of the used runs per trajectory, blocks apart, what a steady drift would fake by it, and the drift the runs show. */
function auditOrderText(
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
  const rows = order.flatMap((own) => driftRows(own, evaluation.settings.judged_in));
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

function driftRows({ trajectory, drift }: Order, judged: JudgedTrajectories): TableRow[] {
  if (drift.length === 0) return [];
  const { unit } = measureOf(drift[0]!.metric);
  const shown = (value: number): number => inShown(value, unit);
  const decimals = decimalsFor(drift.flatMap(({ slope_ci95 }) => (slope_ci95 ?? []).map(shown)));
  const text = (value: number | null | undefined): string =>
    value === null || value === undefined ? noValue : fixed(shown(value), decimals);
  return [
    { words: shortName(trajectory) },
    ...drift.map(({ subject, axis, slope, slope_ci95: interval, p, faked }) => ({
      label: `  ${subject} ${axisAt(judged, { trajectory, subject, axis })}`,
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

/**
 * The whole audit for a person: findings with what to do, runs per block, the order flown and what a drift would fake by it,
 * masses, packs and lost runs per configuration, the sham's differences, how often it was looked at, what was fitted.
 * Millimetres, grams.
 */
export function auditText(evaluation: CampaignEvaluation, frame: TextFrame): string[] {
  const { width, style } = frame;
  const letters = auditLetters(evaluation);
  const legend = letters.map(({ letter, name }) => `${letter} ${name}`).join("; ");
  const heads = letters.map(({ letter }) => letter);
  const sections = [
    auditFindings(evaluation, frame, { hints: true }),
    [style.heading("Configurations"), ...wrapText(`${legend}.`, width, { first: "", rest: "  " })],
    section(
      "Used runs per block, of those filed, and their mean heading",
      textTable(heads, blockRows(evaluation, letters), width),
      style,
    ),
    auditOrderText(evaluation, letters, frame),
    section(
      "Runs, packs, masses and valid samples",
      textTable(heads, configurationRows(evaluation, letters), width),
      style,
    ),
    auditSham(evaluation, letters, frame),
    [style.heading("Looks"), ...wrapText(looksSentence(evaluation), width)],
    auditFitted(evaluation, frame),
  ].filter((lines) => lines.length > 0);
  return sections.flatMap((lines, index) => (index === 0 ? lines : ["", ...lines]));
}

function section(title: string, lines: readonly string[], style: TextFrame["style"]): string[] {
  return [style.heading(title), ...lines];
}

function looksSentence({ looks }: CampaignEvaluation): string {
  const lost = looks.recorded ? "" : " This look could not be recorded, so the next count may be too low.";
  const opened = looks.opened === undefined ? "" : ` ${plainText(openingText(looks.opened))}`;
  return `${plainText(looksText(looks))}${opened}${lost}`;
}

type Contrast = Audit["sham"][number]["balancing"];

/**
 * What balancing does at the same mass and what the mass alone does: a difference with half its 95 % interval for each place
 * of the family. Nothing without a sham.
 */
function auditSham(
  { audit, settings }: CampaignEvaluation,
  letters: readonly LetteredConfiguration[],
  { width, style }: TextFrame,
): string[] {
  if (audit.sham.length === 0) return [];
  const letterOf = (key: string | null): string => letters.find((each) => each.key === key)?.letter ?? "";
  const [baseline, candidate, sham] = [settings.baseline, settings.candidate, settings.sham].map(letterOf);
  const { unit } = measureOf(settings.primary);
  const decimals = decimalsFor(
    audit.sham
      .flatMap(({ balancing, mass }) => [balancing, mass].flatMap((own) => [own.difference ?? 0, half(own) ?? 0]))
      .map((value) => inShown(value, unit)),
  );
  const text = (value: number | null): string => (value === null ? noValue : fixed(inShown(value, unit), decimals));
  const trajectories = [...new Set(audit.sham.map(({ trajectory }) => trajectory))];
  const rows = trajectories.flatMap((trajectory): TableRow[] => [
    { words: shortName(trajectory) },
    ...audit.sham
      .filter((row) => row.trajectory === trajectory)
      .map(({ subject, axis, values, balancing, mass }) => ({
        label: `  ${subject} ${axisAt(settings.judged_in, { trajectory, subject, axis })}`,
        cells: [
          String(values.length),
          text(balancing.difference),
          text(half(balancing)),
          text(mass.difference),
          text(half(mass)),
        ],
      })),
  ]);
  const caption = `Balance is ${candidate} - ${sham}: what balancing does at the same mass; mass is ${sham} - ${baseline}: what the mass alone does. ${unitName(unit)}, ± half the 95 % interval, each by itself; n runs of ${sham}. Exploratory: no verdict.`;
  return [
    style.heading("Balance or mass"),
    ...wrapText(caption, width),
    ...textTable(["n", "balance", "±", "mass", "±"], rows, width),
  ];
}

/** Half the interval, which lies evenly about the difference. */
function half({ ci95 }: Contrast): number | null {
  return ci95 === null ? null : (ci95[1] - ci95[0]) / 2;
}
