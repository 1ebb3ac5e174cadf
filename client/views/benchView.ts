import "../style/run.css";
import "../style/why.css";
import type { BenchAnswer } from "../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import { channelWords } from "../../src/words/benchWords.ts";
import { addressOf } from "../app/address.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { type BenchSide, benchPhaseFigure } from "../figures/benchPhaseFigure.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { reductionFigure } from "../figures/reductionFigure.ts";
import { allCellsTable, cellsTable, runsTable } from "./bench/benchTables.ts";
import { findingsPart, uncheckedPart } from "./bench/findingsPart.ts";
import { closurePart, growthPart, movingMassPart } from "./bench/growthPart.ts";
import { configurationLabel } from "./why/movingPart.ts";

/** runs that stand on the page unfolded */
const mostOpen = 40;

/** The arm on the stand: what it shakes its base with, with and without counterweights, and what that rests on. */
export const benchView: View = async (root, { campaign, left }) => {
  const loading = element("p", { class: "quiet loading", role: "status", text: "Fetching the bench …" });
  root.append(loading);
  const { sentence, bench } = await fetchAnswer<BenchAnswer>(apiPaths.bench, { signal: left });
  const sides = (["baseline", "candidate"] as const).map((role) => ({
    key: campaign[role],
    label: configurationLabel(campaign, campaign[role]),
    role,
  }));
  const flown = campaign.configurations.some(({ runs }) => runs > 0);
  loading.replaceWith(
    element("h1", { text: "On the bench", tabindex: "-1" }),
    element("p", { class: "reading", text: sentence }),
    element("p", { class: "reading" }, [
      `Force and moment that the arm exerts on its base, in the axes of the arm base, moments about ${pointWords[bench.point.name] ?? `the point ${bench.point.name}`}. Gravity is left in: what balancing takes away is mostly its moving moment. A bench shows what the arm exerts, not what the vehicle does`,
      ...(flown
        ? ["; both stand side by side under ", element("a", { href: addressOf({ page: "why" }), text: "Why" }), "."]
        : ["."]),
    ]),
    element("p", { class: "downloads no-print" }, [
      "Download ",
      element("a", { href: apiPaths.export.bench, download: "bench.csv", text: "bench.csv" }),
    ]),
    findingsPart(bench),
    ...trajectoriesOf(bench).map((trajectory) => trajectoryPart(bench, trajectory, sides)),
    movingMassPart(campaign, bench),
    closurePart(campaign, bench),
    uncheckedPart(campaign, bench),
    element("section", { class: "bench-runs" }, [
      element("h2", { text: "Runs on the stand" }),
      bench.runs.length <= mostOpen
        ? runsTable(campaign, bench.runs)
        : element("details", {}, [
            element("summary", { text: `All ${bench.runs.length} runs` }),
            runsTable(campaign, bench.runs),
          ]),
    ]),
  );
};

/** What moments are about, as a person says it. */
const pointWords: Readonly<Record<string, string>> = {
  sensor: "the sensor's origin",
  arm_base: "the arm base",
  vehicle_com: "the vehicle's centre of mass",
};

const trajectoriesOf = ({ runs }: BenchEvaluation): string[] => [...new Set(runs.map(({ trajectory }) => trajectory))];

/** Reductions, force over phase and growth of one trajectory. */
function trajectoryPart(bench: BenchEvaluation, trajectory: string, sides: readonly BenchSide[]): HTMLElement {
  // a channel's speeds beside each other, the slowest first
  const cells = bench.cells
    .filter((cell) => cell.trajectory === trajectory)
    .sort((a, b) => a.channel.localeCompare(b.channel) || (a.speed ?? 0) - (b.speed ?? 0));
  const family = cells.filter(({ verdict }) => verdict !== null);
  const head = element("h2", { text: `Shaking in ${trajectory}` });
  if (family.length === 0)
    return element("section", { class: "bench-trajectory" }, [
      head,
      element("p", {
        class: "quiet",
        text: "Nothing to compare: it takes runs of both configurations whose motion of the arm is known.",
      }),
      ...(cells.length === 0 ? [] : [allCellsTable(trajectory, cells, sides)]),
    ]);
  const channels = [...new Set(family.map(({ channel }) => channel))];
  return element("section", { class: "bench-trajectory" }, [
    head,
    figureFrame(
      {
        name: `${trajectory} taken away on the bench`,
        title: "What the counterweights take away",
        caption:
          "Part of the first harmonic in step with the arm, less than without counterweights by this much, with its 95 % interval over refits. 0: nothing; 100: all, the broken line; beyond: over-balanced. Of moments it depends on speed.",
      },
      (width) => reductionFigure(family, { width, label: `Part taken away in ${trajectory}, by channel and speed` }),
      { level: 3, wide: true },
    ),
    cellsTable(trajectory, cells, sides),
    ...phaseFigures(bench, trajectory, channels, sides),
    ...growthPart(bench, trajectory, sides),
    element("details", {}, [
      element("summary", { text: "All six channels, over the cycle's harmonics and over everything" }),
      allCellsTable(trajectory, cells, sides),
    ]),
  ]);
}

/** The fastest speed open, the others folded away. */
function phaseFigures(
  { runs }: BenchEvaluation,
  trajectory: string,
  channels: readonly (keyof typeof channelWords)[],
  sides: readonly BenchSide[],
): HTMLElement[] {
  const own = runs.filter(
    (run) =>
      run.trajectory === trajectory &&
      run.used &&
      run.channels !== null &&
      run.travel !== null &&
      sides.some(({ key }) => key === run.configuration),
  );
  const speeds = [...new Set(own.map(({ speed_label }) => speed_label))].sort((a, b) => rateOf(b) - rateOf(a));
  const figure = (speed: string | null): HTMLElement =>
    figureFrame(
      {
        name: `${trajectory} ${speed ?? ""} over phase on the bench`,
        title: `Over the arm's cycle, ${speed ?? "no speed filed"}`,
        caption:
          "What the first five harmonics make over one cycle of the arm, mean and drift taken out. Thin: runs; thick: their mean.",
      },
      (width) =>
        benchPhaseFigure(
          own.filter(({ speed_label }) => speed_label === speed),
          channels,
          sides,
          {
            width,
            label: `${trajectory}, ${speed ?? ""}: ${channels.map((one) => channelWords[one]).join(", ")} over the arm's cycle`,
          },
        ),
      { level: 3, wide: true },
    );
  const [first, ...others] = speeds.map(figure);
  if (first === undefined) return [];
  if (others.length === 0) return [first];
  return [
    first,
    element("details", {}, [element("summary", { text: `The ${others.length} slower speeds` }), ...others]),
  ];

  function rateOf(label: string | null): number {
    return own.find(({ speed_label }) => speed_label === label)?.speed ?? 0;
  }
}
