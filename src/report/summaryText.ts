import type { CampaignEvaluation, RunEvaluation } from "../contract/evaluation.ts";
import { clocksText } from "./logsText.ts";
import { exclusionReason, isUnusable, namedConfigurations } from "./runGroups.ts";
import { padLeft, padRight, plainText, type TextFrame, textWidth, wrapText } from "./text/layout.ts";

const heads = ["filed", "used", "unusable", "excluded", "aborted"];

/** What was evaluated, in one line or as many as it takes. */
export function titleText(evaluation: Pick<CampaignEvaluation, "title">, { width, style }: TextFrame): string[] {
  return wrapText(plainText(evaluation.title) || "Campaign without a title", width).map(style.heading);
}

/** How many runs of which configuration were used, and where truth comes from. */
export function summaryText(evaluation: CampaignEvaluation, { width }: TextFrame): string[] {
  const { runs, settings } = evaluation;
  const used = runs.filter((run) => run.used).length;
  const effector = settings.truth.effector === null ? "" : `, effector ${plainText(settings.truth.effector)}`;
  return [
    ...wrapText(`${used} of ${runs.length} runs used.`, width),
    "",
    ...runCounts(evaluation, width),
    "",
    ...wrapText(`Source of truth: motion capture, vehicle ${plainText(settings.truth.vehicle)}${effector}.`, width),
    ...clocksText(evaluation, width),
  ];
}

function runCounts(evaluation: CampaignEvaluation, width: number): string[] {
  const rows = namedConfigurations(evaluation).map(({ key, label, role }) => {
    const filed = evaluation.runs.filter((run) => run.configuration === key);
    const count = (belongs: (run: RunEvaluation) => boolean): string => String(filed.filter(belongs).length);
    return {
      name: `${label} (${[plainText(key), role].filter((part) => part !== null).join(", ")})`,
      cells: [
        String(filed.length),
        count((run) => run.used),
        count(isUnusable),
        count((run) => exclusionReason(run) !== null),
        count((run) => run.outcome === "aborted"),
      ],
    };
  });
  const column = 9;
  const most = Math.max(12, width - column * heads.length);
  const nameWidth = Math.min(most, Math.max(16, ...rows.map(({ name }) => textWidth(name))));
  const line = (name: string, cells: readonly string[]): string =>
    padRight(name, nameWidth) + cells.map((cell) => padLeft(cell, column)).join("");
  return [
    line("Runs", heads),
    ...rows.flatMap(({ name, cells }) => {
      const lines = wrapText(name, nameWidth, { first: "", rest: "  " });
      return lines.map((part, index) => (index === lines.length - 1 ? line(part, cells) : part));
    }),
  ];
}
