import "../style/run.css";
import "../style/compared.css";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { CyclesAnswer, RunAnswer, RunRow, RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { joinWords } from "../../src/words/amounts.ts";
import { axisLabel, axisWord } from "../../src/words/places.ts";
import { addressOf } from "../app/address.ts";
import { element, labelOf } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { Place, View, ViewContext } from "../app/View.ts";
import { comparisonFigure } from "../figures/comparisonFigure.ts";
import type { Tone } from "../figures/Figure.ts";
import { figureFrame, largeFigure } from "../figures/figureFrame.ts";
import { meanOverRuns, type PhaseCurve } from "../figures/meanOverRuns.ts";
import { spectraFigure } from "../figures/spectrumFigure.ts";
import { meanPathsPart } from "./cell/meanPathsPart.ts";

const points = 72;

/** Any two runs over cycle phase. Two runs are one pair: how far apart they lie is seen, and no verdict is drawn from it. */
export const compareView: View = async (root, { campaign, place, go, left }) => {
  if (place.page !== "compare") return;
  const { first, second, subject } = place;
  const loading = element("p", { class: "quiet loading", role: "status", text: `Reading ${first} and ${second} …` });
  root.append(loading);
  const { runs } = await fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left });
  const cycles = (id: string): Promise<CyclesAnswer> =>
    fetchAnswer<CyclesAnswer>(apiPaths.cycles(id), { signal: left, query: { subject, points } });
  const asked = (id: string): Promise<RunAnswer> => fetchAnswer<RunAnswer>(apiPaths.run(id), { signal: left });
  const [a, b, one, two] = await Promise.all([cycles(first), cycles(second), asked(first), asked(second)]);
  const named = (id: string): string => {
    const configuration = runs.find((run) => run.id === id)?.configuration ?? null;
    return configuration === null ? id : `${id}, ${labelOf(campaign, configuration)}`;
  };
  const roleOf = (id: string): Tone | undefined =>
    campaign.configurations.find(({ name }) => name === runs.find((run) => run.id === id)?.configuration)?.role;
  const tones = [roleOf(first) ?? "baseline", roleOf(second) ?? "candidate"] as const;
  // of one configuration they would look the same
  const [toneA, toneB] = tones[0] === tones[1] ? (["baseline", "candidate"] as const) : tones;
  const without = [a, b].filter((answer) => answer.cycles.length === 0).map(({ run }) => run);
  const spectra = [
    { name: named(first), tone: toneA, spectrum: one.run.spectrum?.subjects[subject] },
    { name: named(second), tone: toneB, spectrum: two.run.spectrum?.subjects[subject] },
  ].flatMap(({ spectrum, ...rest }) => (spectrum === undefined ? [] : [{ ...rest, spectrum }]));
  const link = (id: string): HTMLElement =>
    element("a", { href: addressOf({ page: "run", run: id, subject, window: null }), text: id });
  const pathsPlace = element("div", {});
  const other = flownOtherwise(runs, first, second);
  loading.replaceWith(
    element("h1", { text: `${first} and ${second}, ${subject}`, tabindex: "-1" }),
    element("p", { class: "reading" }, [
      "Two runs beside each other: ",
      link(first),
      " and ",
      link(second),
      ". Bands hold 95 % of where the mean of a run's cycles may lie; cycles of one run are no replicates, so the difference below has none, and no verdict rests on a pair.",
      other === "" ? "" : ` ${other}`,
    ]),
    otherPairs(runs, place, go),
    without.length === 0
      ? ""
      : element("p", {
          text: `There are no cycles in ${joinWords(without)}: error over cycle phase and mean paths take two runs with cycles.`,
        }),
    ...(without.length > 0 ? [] : axes).map((axis) => {
      const word = a.frame === "world" ? axisLabel(axis, campaign.axis_names) : axisWord(axis, a.frame);
      return figureFrame(
        {
          name: `${first}-${second}-${subject}-${axis}`,
          how: "methods.html#error-over-cycle-phase",
          title: `Error along ${word}`,
          caption: `Lines: mean of each run's cycles. Below: ${second} less ${first}.`,
        },
        (width) =>
          comparisonFigure(
            [
              { name: named(first), tone: toneA, curve: ofCycles(a, axis) },
              { name: named(second), tone: toneB, curve: ofCycles(b, axis) },
            ],
            bare(
              a.mean[axis].map((value, k) =>
                value === null || b.mean[axis][k] == null ? null : b.mean[axis][k] - value,
              ),
            ),
            a.phase,
            {
              width,
              label: `Error along ${word} over cycle phase of ${first} and ${second}, and their difference`,
              axis: `${word} error`,
              names: { difference: "difference" },
            },
          ),
        { level: 2, wide: true },
      );
    }),
    pathsPlace,
    spectra.length < 2
      ? element("p", { class: "quiet", text: "No spectra: a run is too short or too gappy for one." })
      : largeFigure(
          {
            name: `${first}-${second}-${subject}-spectra`,
            how: "methods.html#spectrum",
            title: "Spectra",
            caption: `Density of the error in the ${one.run.spectrum?.window === "hold" ? "hold" : "cycle"} window of each run; bar: 95 % interval of one value of ${first}.${spectra[0]!.spectrum.harmonics.length > 0 ? ` Dotted: harmonics of the cycle's rate in ${first}.` : ""}`,
          },
          (width) =>
            spectraFigure(spectra, {
              width,
              tone: "other",
              label: `Density of the error over frequency of ${first} and ${second}, x, y and z`,
            }),
          { level: 2, wide: true },
        ),
  );
  if (without.length > 0) return;
  const trajectory = campaign.trajectories.find(({ name }) => name === one.run.trajectory);
  const paths = [
    { name: named(first), tone: toneA, error: a.mean },
    { name: named(second), tone: toneB, error: b.mean },
  ];
  const names = a.frame === "world" ? campaign.axis_names : {};
  const part = await meanPathsPart(
    { of: a, paths, trajectory, names, name: `${first}-${second}-${subject}`, level: 2 },
    left,
  );
  pathsPlace.replaceWith(part);
};

/** Any other two: a choice for each side, those that count. */
function otherPairs(runs: readonly RunRow[], place: Place & { page: "compare" }, go: ViewContext["go"]): HTMLElement {
  const choice = (side: "first" | "second"): HTMLElement => {
    const select = element(
      "select",
      { id: `compare-${side}`, on: { change: () => go({ ...place, [side]: select.value }) } },
      runs
        .filter(({ id, used }) => used || id === place[side])
        .map(({ id, trajectory }) =>
          element("option", { value: id, text: `${id}, ${trajectory}`, selected: id === place[side] }),
        ),
    );
    return select;
  };
  return element("div", { class: "synchronous-choices no-print" }, [
    element("label", { for: "compare-first" }, ["Compare ", choice("first")]),
    element("label", { for: "compare-second" }, ["with ", choice("second")]),
  ]);
}

function ofCycles({ cycles }: CyclesAnswer, axis: (typeof axes)[number]): PhaseCurve {
  return meanOverRuns(cycles.map((cycle) => cycle[axis]));
}

/** A mean without a band. */
function bare(mean: readonly (number | null)[]): PhaseCurve {
  const none = mean.map(() => null);
  return { mean, low: none, high: none };
}

/** What else differs between the two than their configuration; "" where nothing is known to. */
function flownOtherwise(runs: readonly RunRow[], first: string, second: string): string {
  const [a, b] = [first, second].map((id) => runs.find((run) => run.id === id));
  if (a === undefined || b === undefined) return "";
  const apart = [
    a.trajectory === b.trajectory ? null : "the trajectory",
    a.block === b.block ? null : "the block",
    a.battery === b.battery ? null : "the battery",
  ].filter((what) => what !== null);
  return apart.length === 0 ? "" : `They also differ in ${apart.join(" and ")}.`;
}
