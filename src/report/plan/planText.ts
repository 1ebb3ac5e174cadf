import type { FlightDay, Plan, PlanCell } from "../../contract/plan.ts";
import { inShown, unitName } from "../../words/amounts.ts";
import { axisAt, type JudgedTrajectories } from "../../words/places.ts";
import { plainText, type TableRow, type TextFrame, textTable, wrapText } from "../text/layout.ts";
import { quotedName, shortName } from "../text/nameText.ts";
import { decimalsFor, fixed, noValue, probabilityText } from "../text/numbers.ts";
import { countOf, flightCautions, orderText, type PlanNames } from "./planWords.ts";

type OverSpread = PlanCell["half_width"];
type Figures = Pick<PlanCell, "half_width" | "detectable" | "runs_for_difference" | "runs_for_equivalence">;

/** more runs than this nobody flies */
const mostRuns = 999;
const heads = ["half-width", "detectable", "difference", "equivalence"];

/**
 * What a plan can show: per cell, and over assumed spreads where the spread is not known yet. In the unit of the
 * measure, and runs per configuration.
 */
function planFigures(plan: Plan, { judged }: Pick<PlanNames, "judged">, frame: TextFrame): string[] {
  const tables = [cellsTable(plan, judged, frame), assumedTable(plan, frame)].filter((lines) => lines.length > 0);
  if (tables.length === 0) return [];
  return [...tables.flatMap((lines, index) => (index === 0 ? lines : ["", ...lines])), ...legend(plan, frame)];
}

function cellsTable(
  { cells, unit, runs_per_configuration: runs }: Plan,
  judged: JudgedTrajectories,
  frame: TextFrame,
): string[] {
  if (cells.length === 0) return [];
  const decimals = decimalsFor(cells.map(({ detectable }) => inShown(detectable.middle, unit)));
  const rows = [...new Set(cells.map(({ trajectory }) => trajectory))].flatMap((trajectory): TableRow[] => [
    { words: shortName(trajectory) },
    ...cells
      .filter((cell) => cell.trajectory === trajectory)
      .map((cell) => ({
        label: `  ${cell.subject} ${axisAt(judged, cell)}`,
        cells: [fixed(inShown(pooled(cell), unit), decimals), ...figures(cell, unit, decimals)],
      })),
  ]);
  return [
    frame.style.heading(
      `What ${runs} runs per configuration can show (${unitName(unit)}), and how many it takes (runs)`,
    ),
    ...textTable(["sd", ...heads], rows, frame.width),
  ];
}

function pooled({ spread: { sd } }: PlanCell): number {
  return Math.hypot(...sd) / Math.SQRT2;
}

function assumedTable({ assumed, cells, unit, runs_per_configuration: runs }: Plan, frame: TextFrame): string[] {
  if (assumed.length === 0) return [];
  const decimals = decimalsFor(assumed.map(({ detectable }) => inShown(detectable.middle, unit)));
  const rows = assumed.map((row) => ({
    label: `  sd ${fixed(inShown(row.sd, unit), decimals)}`,
    cells: figures(row, unit, decimals),
  }));
  const whose = cells.length === 0 ? "how far runs spread" : "how far runs spread in some cells";
  const why = `Nothing flown says ${whose}: a single run in a configuration, or none, shows no spread between runs. The rows are assumptions, not findings; fly at least two runs per configuration and block to replace them.`;
  return [
    frame.style.heading(
      `The same over assumed spreads between runs (${unitName(unit)}; ${runs} runs per configuration)`,
    ),
    ...wrapText(why, frame.width, { first: "", rest: "  " }),
    ...textTable(heads, rows, frame.width),
  ];
}

function figures(row: Figures, unit: Plan["unit"], decimals: number): string[] {
  return [
    fixed(inShown(row.half_width.middle, unit), decimals),
    fixed(inShown(row.detectable.middle, unit), decimals),
    runsText(row.runs_for_difference),
    runsText(row.runs_for_equivalence),
  ];
}

function runsText(runs: OverSpread | null): string {
  if (runs === null) return noValue;
  const [low, middle, high] = [runs.low, runs.middle, runs.high].map((count) =>
    count > mostRuns ? `>${mostRuns}` : String(count),
  );
  return low === high ? middle! : `${middle} (${low}-${high})`;
}

function legend({ cells, assumed }: Plan, { width }: TextFrame): string[] {
  const rows: Figures[] = [...cells, ...assumed];
  const counts = rows.flatMap((row) => [row.runs_for_difference, row.runs_for_equivalence]);
  const bounds = rows.flatMap(({ half_width: { low, high } }) => (low === high ? [] : [low]));
  const lines = [
    "sd: between runs, both configurations together. half-width: of the 95 % interval to be expected. detectable: smallest true difference that gets its verdict. difference: runs to see the smallest difference that matters; equivalence: runs to show that none matters, where there is none.",
    ...(bounds.length === 0 ? [] : ["In brackets what the uncertainty of the flown spread allows, low to high."]),
    ...(counts.some((runs) => runs !== null && runs.high > mostRuns) ? [`>${mostRuns}: more than ${mostRuns}.`] : []),
    ...(counts.includes(null) ? [`${noValue}: no smallest difference is declared.`] : []),
  ];
  return wrapText(lines.join(" "), width, { first: "", rest: "  " });
}

/** designs this many runs away from what is to be flown are shown */
const nearby = 1;
/** arrangements from here on are shown in powers of ten */
const mostCounted = 100_000;

/**
 * A plan and a day for a person who is going to fly: how many runs and why, what they can show per cell, what designs could show
 * at all, the order, and the cautions. Millimetres.
 *
 * @returns lines of at most `frame.width` columns
 */
export function planText(plan: Plan, day: FlightDay, names: PlanNames, frame: TextFrame): string[] {
  const sections = [
    takesText(plan, day, names, frame),
    planFigures(plan, names, frame),
    designsText(plan, frame),
    orderText(day, names, frame),
    cautionText(frame),
  ];
  return sections.filter((lines) => lines.length > 0).flatMap((lines, index) => (index === 0 ? lines : ["", ...lines]));
}

function lookAdvice({ paidUpTo }: PlanNames): string {
  return paidUpTo === undefined
    ? "Decide now how many to fly, and judge once they are flown: judging again counts as another look, and each look more makes a false alarm likelier."
    : `Looks are paid for: judge again whenever you like, up to ${paidUpTo} runs of either configuration on each trajectory. Once that many are flown and judged, further flights claim nothing.`;
}

function takesText(plan: Plan, day: FlightDay, names: PlanNames, frame: TextFrame): string[] {
  const because = plainText(plan.because);
  const level = Number(plan.level.toPrecision(2));
  return [
    frame.style.heading("What to fly next"),
    ...sentences(
      [
        `${countOf(plan.runs_to_fly, "run")} to fly per configuration and trajectory, in ${countOf(plan.blocks, "block")}${because === "" ? "" : `: ${because}`}.`,
        ...(plan.cells.length + plan.assumed.length === 0
          ? [
              "Nothing can be forecast yet: declare the smallest difference that matters, or fly at least two runs per configuration.",
            ]
          : [
              `The forecasts are for ${totalText(plan)}, if runs scatter as said: for a verdict with ${Math.round(100 * plan.power)} % power at the hardest step of Holm (two-sided ${level}, ${countOf(plan.family, "cell")}).`,
            ]),
        lookAdvice(names),
        ...shamSentence(day, names),
      ],
      frame,
    ),
  ];
}

/** "the 10 per configuration that they make with the 4 flown before" */
function totalText({ runs_per_configuration: total, runs_to_fly: toFly, flown }: Plan): string {
  if (total > toFly) return `the ${total} per configuration that they make with the ${flown} flown before`;
  return flown === 0 ? "these runs" : "these runs by themselves, a repetition of what was flown";
}

function shamSentence({ configurations }: FlightDay, { sham }: PlanNames): string[] {
  if (sham === null) return [];
  const flown = configurations.some(({ role }) => role === "sham");
  return [
    flown
      ? `${quotedName(sham)} is flown too, as often as the others: it separates the effect of balancing from that of the mass.`
      : `The campaign declares a sham, ${quotedName(sham)}, which separates the effect of balancing from that of the mass: it is not in this order; --sham puts it in.`,
  ];
}

function designsText(plan: Plan, frame: TextFrame): string[] {
  const near = plan.designs.filter(({ runs_per_configuration: runs }) => Math.abs(runs - plan.runs_to_fly) <= nearby);
  if (near.length === 0) return [];
  const rows = near.map(
    (design): TableRow => ({
      label: `  ${countOf(design.runs_per_configuration, "run")} in ${countOf(design.blocks, "block")}`,
      cells: [
        arrangementsText(design.arrangements),
        probabilityText(design.p_least).replace("p ", ""),
        design.can_reach ? "yes" : "no",
        design.can_reach_family ? "yes" : "no",
      ],
    }),
  );
  return [
    frame.style.heading("What designs could show at all"),
    ...textTable(["arrangements", "least p", "below 0.05", "in family"], rows, frame.width),
    ...sentences(
      [
        "Least p: the smallest that any rearrangement of the configurations within blocks could give, whatever comes out; of the new runs by themselves. In family: it lies below the level of a single cell.",
      ],
      frame,
    ),
  ];
}

function arrangementsText(count: number): string {
  return count < mostCounted ? String(count) : count.toExponential(1).replace("e+", "e");
}

function cautionText(frame: TextFrame): string[] {
  return [frame.style.heading("Before you fly"), ...sentences(flightCautions, frame)];
}

function sentences(lines: readonly string[], { width }: TextFrame): string[] {
  return lines.flatMap((line) => wrapText(line, width, { first: "", rest: "  " }));
}
