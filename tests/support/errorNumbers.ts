import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";

/**
 * Every number of an evaluation from which a difference between configurations could be worked out, as it stands in JSON: errors
 * of the runs, cells, reasons; thresholds that stand among them left out. Only those that cannot stand somewhere else by chance: eight digits and more.
 */
export function errorNumbers({ runs, cells, reasons, settings }: CampaignEvaluation): string[] {
  const found = new Set<string>();
  const chosen = new Set(Object.values(settings.thresholds).map(String));
  const walk = (value: unknown): void => {
    if (typeof value === "number") {
      const text = JSON.stringify(value);
      if (text.replace(/e.*$/, "").replace(/\D/g, "").replace(/^0+/, "").length >= 8) found.add(text);
    } else if (typeof value === "object" && value !== null) Object.values(value).forEach(walk);
  };
  for (const { tracking, hold, attitude, synchronous, path, budget } of runs)
    walk({ tracking, hold, attitude, synchronous, path, budget });
  walk({ cells, reasons });
  return [...found].filter((number) => !chosen.has(number));
}
