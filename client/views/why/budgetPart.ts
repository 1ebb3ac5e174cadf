import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { Components, ConfigurationBudget } from "../../../src/contract/reasons.ts";
import { joinWords } from "../../../src/words/amounts.ts";
import { axisAt } from "../../../src/words/places.ts";
import { element } from "../../app/element.ts";
import { countText, fixed, lengthText, millimetres, noValue } from "../../app/words.ts";
import { budgetFigure, budgetReach, budgetParts as parts, partWords } from "../../figures/budgetFigure.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { figuresTable, numberCell } from "../run/figuresTable.ts";
import { configurationLabel } from "./movingPart.ts";

/** Of what the effector's error is made, per trajectory and configuration. */
export function budgetPart(campaign: CampaignView, budgets: readonly ConfigurationBudget[]): HTMLElement {
  const head = element("h2", { text: "Of what the end effector's error is made" });
  if (budgets.length === 0) {
    return element("section", {}, [
      head,
      element("p", {
        class: "quiet",
        text: "No used run has both bodies, a setpoint and a window that can be scored.",
      }),
    ]);
  }
  const trajectories = [...new Set(budgets.map(({ trajectory }) => trajectory))];
  return element("section", { class: "why-budget" }, [
    head,
    element("p", {
      class: "reading",
      text: "The error is the sum of three vectors: where the vehicle is off its setpoint, its tilt times the reach of the arm, and the arm's own error. Counterweights act on the first two. A bar is as long as the rms, all on one scale, and is cut by shares of the mean square, which stand beside it in per cent; left of zero: a part that makes up for another.",
    }),
    ...trajectories.map((trajectory) => {
      const own = budgets.filter((one) => one.trajectory === trajectory);
      return element("div", {}, [
        element("h3", { text: `In ${trajectory}` }),
        element("p", { text: changeText(campaign, own) }),
        element("p", { class: "quiet", text: partsText(campaign, own) }),
        budgetOf(campaign, trajectory, own, budgetReach(budgets)),
      ]);
    }),
  ]);
}

/** All configurations on a trajectory, each under the one before: baseline first, as the evaluation holds them. */
function budgetOf(
  campaign: CampaignView,
  trajectory: string,
  budgets: readonly ConfigurationBudget[],
  reach: readonly [number, number],
): HTMLElement {
  const label = ({ configuration }: ConfigurationBudget): string => configurationLabel(campaign, configuration);
  const counted = budgets.map((one) => `${label(one)} ${countText(one.runs.length, "run")}`);
  const window = budgets[0]?.window === "cycles" ? "cycle window" : "hold window";
  return figureFrame(
    {
      name: `${trajectory} effector budget`,
      how: "methods.html#error-budget",
      title: `Error budget in ${trajectory}`,
      caption: `Mean square over the runs (${joinWords(counted)}), in the ${window}.`,
    },
    (width) =>
      budgetFigure(
        budgets.map((budget) => ({ name: label(budget), budget })),
        { width, reach, label: `What vehicle, tilt and arm make of the end effector's error in ${trajectory}` },
      ),
    { level: 4, wide: true },
  );
}

/** "All axes together: Arm alone 24.1 mm, most from the arm (47 %); Counterweights fitted 22 mm, most from the arm (53 %)." */
function changeText(campaign: CampaignView, budgets: readonly ConfigurationBudget[]): string {
  const stated = budgets.map(({ configuration, norm }) => {
    const { shares } = norm;
    const first = shares === null ? null : parts.reduce((most, part) => (shares[part] > shares[most] ? part : most));
    const from = first === null ? "" : `, most from: ${partWords[first]} (${fixed(100 * shares![first], 0)} %)`;
    return `${configurationLabel(campaign, configuration)} ${lengthText(norm.rms)}${from}`;
  });
  return `All axes together: ${joinWords(stated)}.`;
}

/** "vehicle 13.5 to 11.4 mm, tilt x reach 11.3 to 9.8 mm, arm 16.6 to 16 mm": from baseline to candidate. */
function partsText(campaign: CampaignView, budgets: readonly ConfigurationBudget[]): string {
  const of = (name: string): ConfigurationBudget | undefined =>
    budgets.find(({ configuration }) => configuration === name);
  const [before, after] = [of(campaign.baseline), of(campaign.candidate)];
  if (before === undefined || after === undefined) return "";
  const stated = parts.map(
    (part) => `${partWords[part]} ${lengthText(before.norm.parts[part])} → ${lengthText(after.norm.parts[part])}`,
  );
  return `Rms of each part, ${configurationLabel(campaign, campaign.baseline)} → ${configurationLabel(campaign, campaign.candidate)}: ${stated.join(", ")}.`;
}

/** How much of the scatter lies between runs and between cycles, and what would narrow the intervals. */
export function componentsPart(campaign: CampaignView, components: readonly Components[]): HTMLElement {
  const head = element("h2", { text: "More runs, or longer runs?" });
  if (components.length === 0) {
    return element("section", {}, [
      head,
      element("p", {
        class: "quiet",
        text: "This takes runs that repeat one another, with at least two cycles each.",
      }),
    ]);
  }
  const cycles = components.filter(({ helps }) => helps === "more runs or more cycles").length;
  const worst = Math.max(...components.map((one) => one.design_effect));
  const mm = (metres: number): string => millimetres(metres, 2);
  return element("section", { class: "why-components" }, [
    head,
    element("p", {
      class: "reading",
      text: `What scatters between runs is narrowed by more runs alone; what scatters between the cycles of a run by longer runs too. ${
        cycles === 0
          ? "Longer runs would hardly help in any cell."
          : `Longer runs would help in ${cycles} of ${components.length} cells.`
      } Cycles counted as if they were runs would understate the variance up to ${fixed(worst, 1)} times.`,
    }),
    figuresTable({
      name: "variance components",
      caption:
        "Rms of each cycle taken apart (restricted maximum likelihood); standard error of a configuration's mean",
      columns: [
        "cell",
        "between runs, mm",
        "95 % interval",
        "between cycles, mm",
        "shared by a run's cycles",
        "as flown, mm",
        "twice the runs, mm",
        "twice the cycles, mm",
        "design effect",
        "helps",
      ],
      fileColumns: [
        "cell",
        "between runs, m",
        "95 % interval, mm",
        "between cycles, m",
        "intraclass correlation",
        "se as flown, m",
        "se with twice the runs, m",
        "se with twice the cycles, m",
        "design effect",
        "helps",
      ],
      rows: components.map((one) => [
        { text: `${one.trajectory} ${one.subject} ${axisAt(campaign.judged_in, one)}` },
        numberCell(one.between_runs, mm),
        {
          text:
            one.between_runs_ci95 === null
              ? noValue
              : `${mm(one.between_runs_ci95[0])} to ${mm(one.between_runs_ci95[1])}`,
        },
        numberCell(one.between_cycles, mm),
        numberCell(one.intraclass, (share) => `${fixed(100 * share, 0)} %`),
        numberCell(one.standard_error.flown, mm),
        numberCell(one.standard_error.twice_runs, mm),
        numberCell(one.standard_error.twice_cycles, mm),
        numberCell(one.design_effect, (times) => fixed(times, 1)),
        { text: one.helps },
      ]),
    }),
  ]);
}
