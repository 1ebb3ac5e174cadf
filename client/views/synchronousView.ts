import "../style/run.css";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import { type Axis, axes, type Subject } from "../../src/foundation/tracks.ts";
import { joinWords } from "../../src/words/amounts.ts";
import { axisAt } from "../../src/words/places.ts";
import { addressOf } from "../app/address.ts";
import { element, labelOf } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { leastVectors } from "../figures/confidenceEllipse.ts";
import { differenceFigure } from "../figures/differenceFigure.ts";
import type { Drawing } from "../figures/Figure.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { type Phasor, phasorOf } from "../figures/plainAxis.ts";
import { meansOf, type RunVectors, synchronousFigure } from "../figures/synchronousFigure.ts";
import { amplitudeTable } from "./run/figuresTable.ts";
import { subjectSwitch, subjectWords } from "./run/RunPage.ts";

/** The arm-synchronous error of all used runs of a trajectory, the difference of the configurations, and the runs that it is taken from. */
export const synchronousView: View = async (root, { campaign, place, note, left }) => {
  if (place.page !== "synchronous") return;
  const { trajectory, subject } = place;
  const loading = element("p", { class: "quiet loading", role: "status", text: "Reading the synchronous vectors …" });
  root.append(loading);
  const evaluation = await fetchAnswer<CampaignEvaluation>(apiPaths.evaluation, { signal: left });
  const labels = {
    baseline: labelOf(campaign, campaign.baseline),
    candidate: labelOf(campaign, campaign.candidate),
    sham: campaign.sham === null ? "" : labelOf(campaign, campaign.sham),
  };
  const declared = campaign.trajectories.find(({ name }) => name === trajectory);
  const orders = [...new Set(evaluation.runs.flatMap(({ synchronous }) => ordersOf(synchronous)))].sort(
    (a, b) => a - b,
  );
  let chosen = orders.find((order) => order === place.harmonic) ?? orders[0] ?? 1;
  let ownScales = place.ownScales === true;
  const body = element("div", { class: "synchronous-figure" });

  const keep = (): void =>
    note({
      page: "synchronous",
      trajectory,
      subject,
      ...(chosen !== orders[0] && { harmonic: chosen }),
      ...(ownScales && { ownScales }),
    });
  const axisName = (axis: Axis): string => axisAt(campaign.judged_in, { trajectory, subject, axis });

  const draw = (): void => {
    const runs = runVectors(evaluation.runs, campaign, { trajectory, subject, harmonic: chosen });
    if (runs.length === 0) {
      body.replaceChildren(
        element("p", {
          text: `No used run of ${trajectory} has synchronous vectors of the ${subjectWords[subject]}: the trajectory needs cycles, and a run at least two of them.`,
        }),
      );
      return;
    }
    const times = chosen === 1 ? "at the cycle rate" : `at ${chosen} times the cycle rate`;
    const apart = ownScales ? " The axes' scales differ." : "";
    const what = `a cos(${chosen === 1 ? "" : chosen}θ + φ)`;
    const effects = evaluation.reasons.synchronous.filter(
      (one) => one.trajectory === trajectory && one.subject === subject && one.k === chosen,
    );
    const drawRuns = (closeUp: boolean, width: number): Drawing =>
      synchronousFigure(runs, {
        subject,
        width,
        axisName,
        labels,
        ownScales,
        closeUp,
        label: `Synchronous vectors of the ${subjectWords[subject]} on ${trajectory}, harmonic ${chosen}${closeUp ? ", close up" : ""}: plots for ${joinWords(axes.map(axisName))}`,
      });
    const figure = (kind: string, title: string, caption: string, draw: (width: number) => Drawing): HTMLElement =>
      figureFrame(
        {
          name: `${trajectory} ${subject} ${kind} harmonic ${chosen}`,
          title,
          caption: `${caption}${apart}`,
          how: `methods.html#${kind === "synchronous" ? "synchronous-part" : "synchronous-vectors"}`,
        },
        draw,
        {
          level: 2,
          wide: true,
        },
      );
    body.replaceChildren(
      ...(effects.length === 0
        ? []
        : [
            figure(
              "difference",
              `Harmonic ${chosen}: the difference`,
              `${labels.candidate} less ${labels.baseline}, mean vectors ${effects[0]!.method === "blocked" ? "within blocks" : "over runs"}; zero is the centre. Ellipse: the 95 % region of the difference (Hotelling), of each axis and harmonic alone: among many, some leave zero out by chance.`,
              (width) =>
                differenceFigure(effects, {
                  width,
                  axisName,
                  ownScales,
                  label: `Difference of the synchronous vectors of the ${subjectWords[subject]} on ${trajectory}, harmonic ${chosen}, with its 95 % region about ${joinWords(axes.map(axisName))}`,
                }),
            ),
          ]),
      figure(
        "close up",
        "The runs, close up",
        `Each mark is one run's ${what}, at the scale at which the runs scatter. ${regionSentence(runs, labels)}`,
        (width) => drawRuns(true, width),
      ),
      figure(
        "synchronous",
        `The error ${times}, whole`,
        `The same about the centre: distance from it a, angle φ anticlockwise from the right.`,
        (width) => drawRuns(false, width),
      ),
      amplitudeTable(runs, labels, { trajectory, subject, harmonic: chosen, axisName }),
    );
  };

  loading.replaceWith(
    element("h1", { text: `Arm-synchronous error, ${trajectory}`, tabindex: "-1" }),
    declared === undefined ? "" : element("p", { class: "quiet", text: declared.text }),
    element("p", {
      class: "reading",
      text: `How to read it: what balancing should shrink is the distance of ${labels.candidate}’s mean from zero against ${labels.baseline}’s; a mean that only turns about zero has moved the push, not taken it away. Exploratory: no verdict is drawn from this page.`,
    }),
    subjectSwitch(subjectsWith(evaluation, campaign), subject, (other) => ({ ...place, subject: other })),
    element("div", { class: "synchronous-choices no-print" }, [
      chooser(orders, chosen, (order) => {
        chosen = order;
        keep();
        draw();
      }),
      element("label", {}, [
        element("input", {
          type: "checkbox",
          checked: ownScales,
          on: {
            change: () => {
              ownScales = !ownScales;
              keep();
              draw();
            },
          },
        }),
        " each axis its own scale",
      ]),
    ]),
    body,
    element("p", { class: "no-print" }, [
      element("a", {
        href: addressOf({ page: "answer", metric: "synchronous" }),
        text: "The synchronous error of all cells",
      }),
    ]),
  );
  draw();
};

function chooser(orders: readonly number[], chosen: number, choose: (order: number) => void): HTMLElement {
  return element("fieldset", { class: "harmonic-chooser" }, [
    element("legend", { text: "Harmonic of the cycle" }),
    ...orders.map((order) =>
      element("label", {}, [
        element("input", {
          type: "radio",
          name: "harmonic",
          value: String(order),
          checked: order === chosen,
          on: { change: () => choose(order) },
        }),
        String(order),
      ]),
    ),
  ]);
}

function ordersOf(synchronous: CampaignEvaluation["runs"][number]["synchronous"]): number[] {
  return Object.values(synchronous ?? {}).flatMap((split) => split.x.harmonics.map(({ k }) => k));
}

function subjectsWith({ runs }: CampaignEvaluation, { subjects }: CampaignView): CampaignView["subjects"] {
  return subjects.filter((subject) => runs.some(({ synchronous }) => synchronous?.[subject] !== undefined));
}

/** Whose mean has no region, and why. */
function regionSentence(runs: readonly RunVectors[], labels: Readonly<Record<RunVectors["role"], string>>): string {
  const short = meansOf(runs).filter(({ axis, region }) => axis === "x" && region.ellipse === null);
  const words = short.map(({ role, region }) => `${labels[role]} has ${region.n}`);
  return words.length === 0
    ? "Open mark with a line from zero: mean of the runs; ellipse: 95 % confidence region of that mean (Hotelling)."
    : `Open mark with a line from zero: mean of the runs. A confidence region of the mean needs ${leastVectors} runs: ${words.join(", ")}.`;
}

/** The vectors of one harmonic of the used runs of baseline, candidate and sham on a trajectory; runs without are left out. */
export function runVectors(
  runs: readonly RunEvaluation[],
  {
    baseline,
    candidate,
    sham = null,
  }: Pick<CampaignView, "baseline" | "candidate"> & Partial<Pick<CampaignView, "sham">>,
  { trajectory, subject, harmonic }: { trajectory: string; subject: Subject; harmonic: number },
): RunVectors[] {
  return runs.flatMap((run): RunVectors[] => {
    if (!run.used || run.trajectory !== trajectory) return [];
    const role =
      (
        [
          ["baseline", baseline],
          ["candidate", candidate],
          ["sham", sham],
        ] as const
      ).find(([, name]) => name === run.configuration)?.[0] ?? null;
    const split = run.synchronous?.[subject];
    if (role === null || split === undefined) return [];
    const phasors: Partial<Record<Axis, Phasor>> = {};
    for (const axis of axes) {
      const found = split[axis].harmonics.find(({ k }) => k === harmonic);
      if (found === undefined) return [];
      phasors[axis] = phasorOf(found);
    }
    return [{ run: run.id, role, phasors: phasors as Record<Axis, Phasor> }];
  });
}
