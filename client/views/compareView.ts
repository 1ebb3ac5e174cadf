import "../style/run.css";
import "../style/compared.css";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { CyclesAnswer, RunRow, RunsAnswer } from "../../src/contract/api/runAnswers.ts";
import { axes } from "../../src/foundation/tracks.ts";
import { axisLabel, axisWord } from "../../src/words/places.ts";
import { addressOf } from "../app/address.ts";
import { element, labelOf } from "../app/element.ts";
import { AnswerError, fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { comparisonFigure } from "../figures/comparisonFigure.ts";
import type { Tone } from "../figures/Figure.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { meanOverRuns, type PhaseCurve } from "../figures/meanOverRuns.ts";

const points = 72;

/** Any two runs over cycle phase. Two runs are one pair: how far apart they lie is seen, and no verdict is drawn from it. */
export const compareView: View = async (root, { campaign, place, left }) => {
  if (place.page !== "compare") return;
  const { first, second, subject } = place;
  const loading = element("p", { class: "quiet loading", role: "status", text: `Reading ${first} and ${second} …` });
  root.append(loading);
  const { runs } = await fetchAnswer<RunsAnswer>(apiPaths.runs, { signal: left });
  const cycles = (id: string): Promise<CyclesAnswer> =>
    fetchAnswer<CyclesAnswer>(apiPaths.cycles(id), { signal: left, query: { subject, points } });
  const [a, b] = await Promise.all([cycles(first), cycles(second)]);
  const named = (id: string): string => {
    const configuration = runs.find((run) => run.id === id)?.configuration ?? null;
    return configuration === null ? id : `${id}, ${labelOf(campaign, configuration)}`;
  };
  const without = [a, b].filter((answer) => answer.cycles.length === 0).map(({ run }) => run);
  if (without.length > 0) {
    throw new AnswerError({
      code: "nothing-to-draw",
      message: `found no cycles in ${without.join(" and ")}, expected two runs with cycles`,
      hint: "runs of a hold are compared on the cells' pages",
    });
  }
  const link = (id: string): HTMLElement =>
    element("a", { href: addressOf({ page: "run", run: id, subject, window: null }), text: id });
  const other = flownOtherwise(runs, first, second);
  loading.replaceWith(
    element("h1", { text: `${first} and ${second}, ${subject}`, tabindex: "-1" }),
    element("p", { class: "reading" }, [
      "Two runs over cycle phase: ",
      link(first),
      " and ",
      link(second),
      ". Bands hold 95 % of where the mean of a run's cycles may lie; cycles of one run are no replicates, so the difference below has none, and no verdict rests on a pair.",
      other === "" ? "" : ` ${other}`,
    ]),
    ...axes.map((axis) => {
      const word = a.frame === "world" ? axisLabel(axis, campaign.axis_names) : axisWord(axis, a.frame);
      const tone = (id: string, role: Tone): Tone =>
        campaign.configurations.find(({ name }) => name === runs.find((run) => run.id === id)?.configuration)?.role ??
        role;
      const tones = [tone(first, "baseline"), tone(second, "candidate")] as const;
      // of one configuration they would look the same
      const [toneA, toneB] = tones[0] === tones[1] ? (["baseline", "candidate"] as const) : tones;
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
  );
};

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
