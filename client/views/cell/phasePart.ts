import "../../style/run.css";
import "../../style/compared.css";
import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { CellAnswer } from "../../../src/contract/api/cellAnswers.ts";
import { apiPaths } from "../../../src/contract/api/paths.ts";
import type { CyclesAnswer } from "../../../src/contract/api/runAnswers.ts";
import type { Axis } from "../../../src/foundation/tracks.ts";
import { axisLabel, axisNamesOf, axisWord } from "../../../src/words/places.ts";
import { element, placeName } from "../../app/element.ts";
import { fetchAnswer } from "../../app/fetchAnswer.ts";
import { countText } from "../../app/words.ts";
import { comparisonFigure } from "../../figures/comparisonFigure.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { differenceOverPhase, meanOverRuns } from "../../figures/meanOverRuns.ts";
import type { CellLabels } from "./cellWords.ts";
import { meanPathsPart } from "./meanPathsPart.ts";

/** bins of a cycle: five degrees */
const points = 72;

/**
 * The comparison itself: the error over cycle phase of both configurations, mean of their used runs, and the difference below. The
 * runs are fetched one after the other once the page stands; what cannot be drawn says why.
 */
export function phasePart(
  { cell, runs }: CellAnswer,
  labels: CellLabels,
  campaign: CampaignView,
  left: AbortSignal,
): HTMLElement {
  const place = element("div", { class: "compared-place" });
  const { axis, subject } = cell;
  const used = runs.filter(({ used: counts, role }) => counts && role !== "other");
  if (axis === "norm" || used.every(({ per_cycle: cycles }) => cycles.length === 0)) return place;
  const say = (text: string, kind = "quiet"): void =>
    place.replaceChildren(element("p", { class: kind, role: "status", text }));
  const load = async (): Promise<void> => {
    const curves: { role: "baseline" | "candidate" | "sham"; answer: CyclesAnswer }[] = [];
    for (const [k, run] of used.entries()) {
      say(`Reading the cycles of run ${k + 1} of ${used.length}: ${run.id} …`, "quiet loading");
      const answer = await fetchAnswer<CyclesAnswer>(apiPaths.cycles(run.id), {
        signal: left,
        query: { subject, points },
      });
      if (answer.cycles.length > 0 && run.role !== "other") curves.push({ role: run.role, answer });
    }
    const of = (role: "baseline" | "candidate" | "sham"): CyclesAnswer["mean"][Axis][] =>
      curves.filter((curve) => curve.role === role).map(({ answer }) => answer.mean[axis]);
    const [baseline, candidate, sham] = [of("baseline"), of("candidate"), of("sham")];
    if (baseline.length === 0 || candidate.length === 0) {
      say("Error over cycle phase: not every configuration has a run with cycles.");
      return;
    }
    const named = (label: string, count: number): string => `${label}, ${countText(count, "run")}`;
    const word = cell.judged_in === "world" ? axisLabel(axis, axisNamesOf([cell])) : axisWord(axis, cell.judged_in);
    place.replaceChildren(
      figureFrame(
        {
          name: `phase-${cell.trajectory}-${subject}-${axis}`,
          how: "methods.html#error-over-cycle-phase",
          title: "Error over cycle phase",
          caption: `Lines: mean over the runs of the mean of their cycles. Bands: 95 % interval of that mean at each phase, the run as the unit. Below: ${labels.candidate} less ${labels.baseline}. A band is of each phase alone: over a whole cycle some leave zero by chance.`,
        },
        (width) =>
          comparisonFigure(
            [
              { name: named(labels.baseline, baseline.length), tone: "baseline", curve: meanOverRuns(baseline) },
              { name: named(labels.candidate, candidate.length), tone: "candidate", curve: meanOverRuns(candidate) },
              ...(sham.length === 0
                ? []
                : [{ name: named("sham", sham.length), tone: "sham" as const, curve: meanOverRuns(sham) }]),
            ],
            differenceOverPhase(baseline, candidate),
            curves[0]!.answer.phase,
            {
              width,
              label: `Error over cycle phase, ${placeName(cell)}: both configurations, and their difference`,
              axis: `${word} error`,
              names: { difference: "difference" },
            },
          ),
        { level: 3, wide: true },
      ),
    );
    const sides = [
      { role: "baseline", name: named(labels.baseline, baseline.length) },
      { role: "candidate", name: named(labels.candidate, candidate.length) },
      ...(sham.length === 0 ? [] : [{ role: "sham", name: named("sham", sham.length) } as const]),
    ] as const;
    const paths = await meanPathsPart(
      {
        of: curves[0]!.answer,
        paths: sides.map(({ role, name }) => ({ name, tone: role, error: meanErrors(curves, role) })),
        trajectory: campaign.trajectories.find(({ name }) => name === cell.trajectory),
        names: curves[0]!.answer.frame === "world" ? campaign.axis_names : {},
        name: `${cell.trajectory}-${subject}`,
        level: 3,
      },
      left,
    );
    place.append(paths);
  };
  load().catch((error: unknown) => {
    if (!left.aborted) say(`Error over cycle phase cannot be shown: ${error instanceof Error ? error.message : error}`);
  });
  return place;
}

/** The mean over the runs of a configuration, axis by axis. */
function meanErrors(
  curves: readonly { readonly role: string; readonly answer: CyclesAnswer }[],
  role: string,
): Record<Axis, readonly (number | null)[]> {
  const own = curves.filter((curve) => curve.role === role);
  const of = (axis: Axis) => meanOverRuns(own.map(({ answer }) => answer.mean[axis])).mean;
  return { x: of("x"), y: of("y"), z: of("z") };
}
