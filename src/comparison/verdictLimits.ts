import type { Settings } from "../contract/settings.ts";
import type { VerdictLimits } from "./decideVerdict.ts";

/** The thresholds of the comparison, by what they are for. */
export function verdictLimits(settings: Settings): VerdictLimits {
  return {
    leastRuns: settings.least_runs,
    familyError: settings.family_error,
    equivalenceError: (1 - settings.equivalence_level) / 2,
  };
}
