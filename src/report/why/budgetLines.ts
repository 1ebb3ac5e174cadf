import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import type { ConfigurationBudget } from "../../contract/reasons.ts";
import { namedConfigurations } from "../runGroups.ts";
import type { TextFrame } from "../text/frame.ts";
import { decimalsFor, fixed, noValue } from "../text/numberText.ts";
import { plainText } from "../text/plainText.ts";
import { textTable } from "../text/textTable.ts";
import { wrapText } from "../text/wrapText.ts";

const parts = ["vehicle", "attitude", "arm"] as const;

/**
 * Of what the effector's error is made, per trajectory and configuration, over the three axes together: rms in mm and the
 * share of each part in the mean square.
 */
export function budgetLines(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const { budget } = evaluation.reasons;
  if (budget.length === 0) return [];
  const names = namedConfigurations(evaluation);
  const decimals = decimalsFor(budget.map(({ norm }) => norm.rms * 1000));
  const rows = budget.map((one) => ({
    label: `${plainText(one.trajectory)}, ${names.find(({ key }) => key === one.configuration)?.name ?? plainText(one.configuration)}`,
    cells: cellsOf(one, decimals),
  }));
  const caption =
    "Of what the effector's error is made: rms, mm, and the share of each part in its mean square. Vehicle: its distance from the setpoint; tilt: its attitude times the arm's reach; arm: the arm's own error. A share below 0 means that this part makes up for another.";
  return [...wrapText(caption, width), ...textTable(["rms", "vehicle", "tilt", "arm"], rows, width)];
}

function cellsOf({ norm }: ConfigurationBudget, decimals: number): string[] {
  const { rms, shares } = norm;
  return [
    fixed(rms * 1000, decimals),
    ...parts.map((part) => (shares === null ? noValue : `${fixed(shares[part] * 100, 0)} %`)),
  ];
}
