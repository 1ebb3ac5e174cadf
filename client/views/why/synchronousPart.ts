import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { SynchronousEffect } from "../../../src/contract/reasons.ts";
import { joinWords } from "../../../src/words/lists.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { fixed, millimetres, noValue, probabilityValue } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { ratioFigure } from "../../figures/ratioFigure.ts";
import { figuresTable, numberCell, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel } from "./configurationLabel.ts";

/** below this share of the largest amplitude of its subject a harmonic is folded away */
const worthALine = 0.1;

/** What the counterweights do to the part of the error in step with the arm: ratios per axis and harmonic. */
export function synchronousPart(campaign: CampaignView, effects: readonly SynchronousEffect[]): HTMLElement {
  const head = element("h2", { text: "In step with the arm" });
  if (effects.length === 0) {
    return element("section", {}, [
      head,
      element("p", { class: "quiet", text: "No trajectory has runs of both configurations with at least two cycles." }),
    ]);
  }
  const labels = [campaign.baseline, campaign.candidate].map((name) => configurationLabel(campaign, name));
  const [without, fitted] = labels as [string, string];
  const trajectories = [...new Set(effects.map(({ trajectory }) => trajectory))];
  return element("section", { class: "why-synchronous" }, [
    head,
    element("p", {
      class: "reading",
      text: `Counterweights can act on the part of the error that repeats with the arm's cycle. Per axis and harmonic it is a vector (length and phase); compared are the mean vectors over runs. Balancing ratio: length with ${fitted} over that with ${without}; 1 changes nothing, 0 takes all of it away. Two p, of each comparison alone: Hotelling's test of the vectors, and dealing out the labels anew; with so many comparisons a few small p are no surprise.`,
    }),
    ...trajectories.map((trajectory) => trajectoryPart(trajectory, effects, [without, fitted])),
    element("p", { class: "no-print" }, [
      "The vectors of every run: ",
      ...trajectories.flatMap((trajectory, k) => [
        k > 0 ? ", " : "",
        element("a", {
          href: addressOf({ page: "synchronous", trajectory, subject: "vehicle" }),
          text: trajectory,
        }),
      ]),
      ".",
    ]),
  ]);
}

function trajectoryPart(
  trajectory: string,
  effects: readonly SynchronousEffect[],
  [without, fitted]: readonly [string, string],
): HTMLElement {
  const own = effects.filter((one) => one.trajectory === trajectory);
  const main = own.filter((one) => larger(one) >= worthALine * largestOf(own, one));
  const rest = own.filter((one) => !main.includes(one));
  return element("div", {}, [
    element("h3", { text: `In ${trajectory}` }),
    element("p", { text: sentence(main) }),
    figureFrame(
      {
        name: `${trajectory} balancing ratios`,
        title: "Displacement with over without, per subject, axis and harmonic (mass and controller included)",
        caption:
          "Box: ratio; line: 95 % interval; an arrow where the runs set no limit. Left of 1: less in step with the arm. Harmonics with less than a tenth of their subject's largest amplitude are in the second table.",
      },
      ratioFigure(main, { label: `Balancing ratios in ${trajectory}, with 95 % intervals` }),
      { level: 4, wide: true },
    ),
    effectTable(`Amplitudes and tests, ${trajectory}`, main, [without, fitted]),
    rest.length === 0
      ? null
      : element("details", {}, [
          element("summary", { text: `The ${rest.length} smaller harmonics` }),
          effectTable(`Smaller harmonics, ${trajectory}`, rest, [without, fitted]),
        ]),
  ]);
}

const larger = ({ baseline, candidate }: SynchronousEffect): number =>
  Math.max(baseline.amplitude, candidate.amplitude);

function largestOf(own: readonly SynchronousEffect[], { subject }: SynchronousEffect): number {
  return Math.max(...own.filter((one) => one.subject === subject).map(larger));
}

const place = ({ subject, axis, k }: SynchronousEffect): string => `${subject} ${axis} ${k}×`;

/** Which ratios leave 1 out, in words. */
function sentence(effects: readonly SynchronousEffect[]): string {
  const told = (clear: (interval: readonly [number, number | null]) => boolean): string[] =>
    effects.filter(({ ratio_ci95: interval }) => interval !== null && clear(interval)).map(place);
  const less = told(([, high]) => high !== null && high < 1);
  const more = told(([low]) => low > 1);
  const parts = [
    less.length === 0 ? "" : `smaller: ${joinWords(less)}`,
    more.length === 0 ? "" : `larger: ${joinWords(more)}`,
  ].filter((part) => part !== "");
  return parts.length === 0
    ? "No ratio's interval leaves out 1."
    : `Ratios whose own interval leaves out 1: ${parts.join("; ")}.`;
}

function effectTable(
  caption: string,
  effects: readonly SynchronousEffect[],
  [without, fitted]: readonly [string, string],
): HTMLElement {
  const mm = (metres: number): string => millimetres(metres, 2);
  const p = (value: number | undefined): TableCell => ({ text: probabilityValue(value ?? null), value: value ?? null });
  return figuresTable({
    name: caption,
    caption,
    columns: [
      "what",
      `${without}, mm`,
      `${fitted}, mm`,
      "ratio",
      "95 % interval",
      "p Hotelling",
      "p dealt anew",
      "least p",
    ],
    fileColumns: [
      "what",
      `${without}, m`,
      `${fitted}, m`,
      "ratio",
      "95 % interval",
      "p Hotelling",
      "p permutation",
      "least p",
    ],
    rows: effects.map((one) => [
      { text: place(one) },
      numberCell(one.baseline.amplitude, mm),
      numberCell(one.candidate.amplitude, mm),
      numberCell(one.ratio, (ratio) => fixed(ratio, 2)),
      { text: ratioInterval(one) },
      p(one.hotelling?.p),
      p(one.permutation?.p),
      p(one.permutation?.p_least),
    ]),
  });
}

function ratioInterval({ ratio_ci95: interval }: SynchronousEffect): string {
  if (interval === null) return noValue;
  const [low, high] = interval;
  return high === null ? `above ${fixed(low, 2)}` : `${fixed(low, 2)} to ${fixed(high, 2)}`;
}
