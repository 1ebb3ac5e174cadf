import "../style/run.css";
import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import { apiPaths } from "../../src/contract/api/paths.ts";
import type { CampaignEvaluation, RunEvaluation } from "../../src/contract/evaluation.ts";
import { type Axis, axes, type Subject } from "../../src/foundation/tracks.ts";
import { joinWords } from "../../src/words/amounts.ts";
import { axisAt } from "../../src/words/places.ts";
import { addressOf } from "../app/address.ts";
import { element } from "../app/element.ts";
import { fetchAnswer } from "../app/fetchAnswer.ts";
import type { View } from "../app/View.ts";
import { leastVectors } from "../figures/confidenceEllipse.ts";
import { figureFrame } from "../figures/figureFrame.ts";
import { type Phasor, phasorOf } from "../figures/plainAxis.ts";
import { meansOf, type RunVectors, synchronousFigure } from "../figures/synchronousFigure.ts";
import { amplitudeTable } from "./run/figuresTable.ts";
import { subjectSwitch, subjectWords } from "./run/RunPage.ts";

/** The arm-synchronous error of all used runs of a trajectory, both configurations on one polar plot per axis. */
export const synchronousView: View = async (root, { campaign, place, left }) => {
  if (place.page !== "synchronous") return;
  const { trajectory, subject } = place;
  const loading = element("p", { class: "quiet loading", role: "status", text: "Reading the synchronous vectors …" });
  root.append(loading);
  const evaluation = await fetchAnswer<CampaignEvaluation>(apiPaths.evaluation, { signal: left });
  const labels = { baseline: labelOf(campaign, "baseline"), candidate: labelOf(campaign, "candidate") };
  const declared = campaign.trajectories.find(({ name }) => name === trajectory);
  const orders = [...new Set(evaluation.runs.flatMap(({ synchronous }) => ordersOf(synchronous)))].sort(
    (a, b) => a - b,
  );
  let chosen = orders[0] ?? 1;
  let ownScales = false;
  const body = element("div", { class: "synchronous-figure" });

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
    body.replaceChildren(
      figureFrame(
        {
          name: `${trajectory} ${subject} synchronous harmonic ${chosen}`,
          title: `Harmonic ${chosen}: the error ${times}`,
          caption: `Each mark is one run's a cos(${chosen === 1 ? "" : chosen}θ + φ): distance from the centre a, angle φ anticlockwise from the right. ${regionSentence(runs, labels)}${ownScales ? " The axes' scales differ." : ""}`,
        },
        (width) =>
          synchronousFigure(runs, {
            subject,
            width,
            axisName,
            labels,
            ownScales,
            label: `Synchronous vectors of the ${subjectWords[subject]} on ${trajectory}, harmonic ${chosen}: polar plots for ${joinWords(axes.map(axisName))}`,
          }),
        { level: 2, wide: true },
      ),
      amplitudeTable(runs, labels, { trajectory, subject, harmonic: chosen, axisName }),
    );
  };

  loading.replaceWith(
    element("h1", { text: `Arm-synchronous error, ${trajectory}`, tabindex: "-1" }),
    declared === undefined ? "" : element("p", { class: "quiet", text: declared.text }),
    element("p", {
      class: "reading",
      text: `How to read it: what balancing should shrink is the distance of ${labels.candidate}’s mean from the centre against ${labels.baseline}’s; a mean that only turns about the centre has moved the push, not taken it away. Exploratory: no verdict is drawn from this page.`,
    }),
    subjectSwitch(subjectsWith(evaluation, campaign), subject, (other) => ({ ...place, subject: other })),
    element("div", { class: "synchronous-choices no-print" }, [
      chooser(orders, chosen, (order) => {
        chosen = order;
        draw();
      }),
      element("label", {}, [
        element("input", {
          type: "checkbox",
          on: {
            change: () => {
              ownScales = !ownScales;
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

function labelOf(campaign: CampaignView, role: "baseline" | "candidate"): string {
  const name = campaign[role];
  return campaign.configurations.find((configuration) => configuration.name === name)?.label || name;
}

function subjectsWith({ runs }: CampaignEvaluation, { subjects }: CampaignView): CampaignView["subjects"] {
  return subjects.filter((subject) => runs.some(({ synchronous }) => synchronous?.[subject] !== undefined));
}

/** Whose mean has no region, and why. */
function regionSentence(
  runs: readonly RunVectors[],
  labels: Readonly<Record<"baseline" | "candidate", string>>,
): string {
  const short = meansOf(runs).filter(({ axis, region }) => axis === "x" && region.ellipse === null);
  const words = short.map(({ role, region }) => `${labels[role]} has ${region.n}`);
  return words.length === 0
    ? "Large mark with a line from the centre: mean of the runs; ellipse: 95 % confidence region of that mean (Hotelling)."
    : `Large mark with a line from the centre: mean of the runs. A confidence region of the mean needs ${leastVectors} runs: ${words.join(", ")}.`;
}

/** The vectors of one harmonic of the used runs of baseline and candidate on a trajectory; runs without are left out. */
export function runVectors(
  runs: readonly RunEvaluation[],
  { baseline, candidate }: Pick<CampaignView, "baseline" | "candidate">,
  { trajectory, subject, harmonic }: { trajectory: string; subject: Subject; harmonic: number },
): RunVectors[] {
  return runs.flatMap((run): RunVectors[] => {
    if (!run.used || run.trajectory !== trajectory) return [];
    const role = run.configuration === baseline ? "baseline" : run.configuration === candidate ? "candidate" : null;
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
