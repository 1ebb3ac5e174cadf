import type { AlignedRun } from "../alignment/alignRun.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";

/**
 * `few-cycles` for a run whose cycles are all there but too few for the harmonics asked for: between two harmonics lie as
 * many frequencies as there are cycles less one, and from these a harmonic's uncertainty is taken.
 */
export function splitCyclesCheck({ cycles, period, checks }: AlignedRun, settings: Settings): Check[] {
  const count = cycles.length;
  if (period === null || count === 0 || count >= settings.cycles_advised) return [];
  if (checks.some(({ code }) => code === "few-cycles")) return [];
  const message =
    count === 1
      ? "one whole cycle: what repeats cannot be told from what does not, so there is no synchronous error"
      : `${count} whole cycles: harmonics 1 to ${settings.harmonics} stand close to all else, and their uncertainty rests on ${count - 1} ${count === 2 ? "frequency" : "frequencies"} between them`;
  return [
    {
      code: "few-cycles",
      severity: "note",
      message,
      evidence: { cycles: count, harmonics: settings.harmonics, cycles_advised: settings.cycles_advised },
      hint: `fly ${settings.cycles_advised} cycles or more in a run for its synchronous error`,
    },
  ];
}
