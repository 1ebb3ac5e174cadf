import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import type { ConfigurationBudget } from "../../../src/contract/reasons.ts";
import { joinWords } from "../../../src/words/lists.ts";
import { element } from "../../app/element.ts";
import { countText, fixed, lengthText } from "../../app/words.ts";
import { budgetFigure, budgetReach, budgetParts as parts, partWords } from "../../figures/budgetFigure.ts";
import { figureFrame } from "../../figures/figureFrame.ts";
import { configurationLabel } from "./configurationLabel.ts";

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
