import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";

/**
 * Every number of an evaluation from which a difference between configurations could be worked out, as it stands in JSON: errors
 * of the runs, cells, reasons. Left out: thresholds and round parts of pi that stand among them, and the largest error of a window, which is one
 * sample of a run's own curve. Only those that cannot stand somewhere else by chance: eight digits and more.
 */
export function errorNumbers({ runs, cells, reasons, settings }: CampaignEvaluation): string[] {
  const found = new Set<string>();
  const chosen = new Set(Object.values(settings.thresholds).map(String));
  const walk = (value: unknown): void => {
    if (typeof value === "number") {
      const text = JSON.stringify(value);
      if (text.replace(/e.*$/, "").replace(/\D/g, "").replace(/^0+/, "").length >= 8) found.add(text);
    } else if (typeof value === "object" && value !== null) {
      for (const [key, each] of Object.entries(value)) if (key !== "max_abs") walk(each);
    }
  };
  for (const { tracking, hold, attitude, synchronous, path, budget, moving } of runs)
    walk({ tracking, hold, attitude, synchronous, path, budget, moving });
  walk({ cells, reasons });
  return [...found].filter((number) => !chosen.has(number) && !isPartOfPi(Number(number)));
}

/** Directions and phases are looked at in steps, 0.012 pi for one. */
function isPartOfPi(number: number): boolean {
  const thousandths = (1000 * number) / Math.PI;
  return Math.abs(thousandths - Math.round(thousandths)) < 1e-9;
}
