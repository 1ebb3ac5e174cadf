import type { FlightDay, Plan } from "../../contract/plan.ts";
import type { TextFrame } from "../text/frame.ts";
import { quotedName } from "../text/nameText.ts";
import { plainText } from "../text/plainText.ts";
import { probabilityText } from "../text/probabilityText.ts";
import { type TableRow, textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";
import { countOf } from "./countOf.ts";
import { flightCautions } from "./flightCautions.ts";
import { orderText } from "./orderText.ts";
import { planFigures } from "./planFigures.ts";
import type { PlanNames } from "./planNames.ts";

/** designs this many runs away from what is to be flown are shown */
const nearby = 1;
/** arrangements from here on are told in powers of ten */
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
    planFigures(plan, frame),
    designsText(plan, frame),
    orderText(day, names, frame),
    cautionText(frame),
  ];
  return sections.filter((lines) => lines.length > 0).flatMap((lines, index) => (index === 0 ? lines : ["", ...lines]));
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
        "Decide now how many to fly, and judge once they are flown: judging again counts as another look, and each look more makes a false alarm likelier.",
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
      ? `${quotedName(sham)} is flown too, as often as the others: it tells the effect of balancing from that of the mass.`
      : `The campaign declares a sham, ${quotedName(sham)}, which tells the effect of balancing from that of the mass: it is not in this order; --sham puts it in.`,
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
