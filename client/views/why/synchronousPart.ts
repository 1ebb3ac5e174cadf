import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { SynchronousEffect } from "../../../src/contract/reasons.ts";
import { joinWords, ratioTexts } from "../../../src/words/amounts.ts";
import { axisAt } from "../../../src/words/places.ts";
import { addressOf } from "../../app/address.ts";
import { element } from "../../app/element.ts";
import { millimetres, probabilityValue } from "../../app/words.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { ratioFigure } from "../../figures/permutationFigure.ts";
import { figuresTable, numberCell, type TableCell } from "../run/figuresTable.ts";
import { configurationLabel } from "./movingPart.ts";

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
      text: `Counterweights can act on the part of the error that repeats with the arm's cycle. Per axis and harmonic it is a vector (length and phase); compared are the mean vectors over runs. Displacement ratio: length with ${fitted} over that with ${without}; 1 changes nothing, 0 takes all of it away. Each comparison has two p values of its own: Hotelling's test of the vectors, and a permutation test. Among so many comparisons a few small p are expected.`,
    }),
    ...trajectories.map((trajectory) => trajectoryPart(campaign, trajectory, effects)),
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
  campaign: CampaignView,
  trajectory: string,
  effects: readonly SynchronousEffect[],
): HTMLElement {
  const place: Placing = (one) => `${one.subject} ${axisAt(campaign.judged_in, one)} ${one.k}×`;
  const table = (caption: string, shown: readonly SynchronousEffect[]): HTMLElement =>
    effectTable(campaign, caption, shown, place);
  const own = effects.filter((one) => one.trajectory === trajectory);
  const main = own.filter((one) => larger(one) >= worthALine * largestOf(own, one));
  const rest = own.filter((one) => !main.includes(one));
  return element("div", {}, [
    element("h3", { text: `In ${trajectory}` }),
    element("p", { text: sentence(main, place) }),
    figureFrame(
      {
        name: `${trajectory} displacement ratios`,
        how: "methods.html#in-step-with-the-arm",
        title: "Displacement with over without, per subject, axis and harmonic (mass and controller included)",
        caption:
          "Box: ratio; line: 95 % interval; an arrow where the runs set no limit. Left of 1: less in step with the arm. Harmonics below a tenth of their subject's largest amplitude are in the second table.",
      },
      (width) =>
        ratioFigure(main, { width, place, label: `Displacement ratios in ${trajectory}, with 95 % intervals` }),
      { level: 4, wide: true },
    ),
    table(`Amplitudes and tests, ${trajectory}`, main),
    rest.length === 0
      ? null
      : element("details", {}, [
          element("summary", { text: `The ${rest.length} smaller harmonics` }),
          table(`Smaller harmonics, ${trajectory}`, rest),
        ]),
  ]);
}

const larger = ({ baseline, candidate }: SynchronousEffect): number =>
  Math.max(baseline.amplitude, candidate.amplitude);

function largestOf(own: readonly SynchronousEffect[], { subject }: SynchronousEffect): number {
  return Math.max(...own.filter((one) => one.subject === subject).map(larger));
}

/** Where a harmonic stands, in words. */
type Placing = (one: SynchronousEffect) => string;

/** Which ratios are clearly below or above 1, in words. */
function sentence(effects: readonly SynchronousEffect[], place: Placing): string {
  const clearOf = (clear: (interval: readonly [number, number | null]) => boolean): string[] =>
    effects.filter(({ ratio_ci95: interval }) => interval !== null && clear(interval)).map(place);
  const less = clearOf(([, high]) => high !== null && high < 1);
  const more = clearOf(([low]) => low > 1);
  const parts = [
    less.length === 0 ? "" : `smaller: ${joinWords(less)}`,
    more.length === 0 ? "" : `larger: ${joinWords(more)}`,
  ].filter((part) => part !== "");
  return parts.length === 0
    ? "No ratio is clearly below or above 1: every 95 % interval includes 1."
    : `Clearly below or above 1, each by its own 95 % interval: ${parts.join("; ")}.`;
}

function effectTable(
  campaign: CampaignView,
  caption: string,
  effects: readonly SynchronousEffect[],
  place: Placing,
): HTMLElement {
  const [without, fitted] = [campaign.baseline, campaign.candidate].map((name) => configurationLabel(campaign, name));
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
      "p permutation",
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
      { text: ratioTexts(one)[0], value: one.ratio },
      { text: ratioTexts(one)[1] },
      p(one.hotelling?.p),
      p(one.permutation?.p),
      p(one.permutation?.p_least),
    ]),
  });
}
