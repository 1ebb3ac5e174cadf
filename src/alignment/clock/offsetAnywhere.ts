import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { MotionSight } from "./motionSight.ts";
import { gridRates } from "./rateGrid.ts";
import { searchOverlaps } from "./searchOverlaps.ts";

/** What the search over every overlap is about. */
export interface SearchedClocks {
  readonly clock: string;
  readonly signals: readonly [string, string];
  /** what to add to an offset between the two columns to make it one between the stamps, seconds */
  readonly epochs: number;
}

/**
 * The offset between the clocks of two logs that each count from their own start: the one at which they show the most
 * motion in common, wherever they overlap, or the reason why none stands out.
 *
 * @param that       sight on the other clock
 * @param reference  sight on the reference clock
 * @returns `offset` between the two columns, seconds, to some hundredths; null with a check that says why
 */
export function offsetAnywhere(
  that: MotionSight,
  reference: MotionSight,
  { clock, signals, epochs }: SearchedClocks,
  settings: Settings,
): { readonly offset: number; readonly check: null } | { readonly offset: null; readonly check: Check } {
  const smoothing = settings.clock_smoothing;
  const grid = (sight: MotionSight) => gridRates(sight, settings.clock_grid, smoothing);
  const found = searchOverlaps(grid(that), grid(reference), { overlap: settings.clock_overlap, smoothing });
  if (found !== null && found.ahead >= settings.clock_log_likelihood) return { offset: found.offset, check: null };
  const unknown = `the offset of clock ${clock} cannot be told: both logs count from their own start, and`;
  const what = `${signals[0]} and ${signals[1]}`;
  return {
    offset: null,
    check: {
      code: "clock-ambiguous",
      severity: "unusable",
      message:
        found === null
          ? `${unknown} wherever ${what} overlap by ${settings.clock_overlap} s or more they show no motion in common`
          : `${unknown} ${what} agree at ${(found.offset + epochs).toFixed(2)} s about as well as at ${(found.rival! + epochs).toFixed(2)} s`,
      evidence: {
        clock,
        ...(found === null
          ? {}
          : {
              offset_s: found.offset + epochs,
              rival_s: found.rival! + epochs,
              log_likelihood_ahead: found.ahead,
              overlap_s: found.overlap,
            }),
      },
      hint: "check that both logs are of this flight; where both were started by one trigger say `search: 2 s`, else give `near`; next time record the take-off on both, or turn the vehicle by hand as a mark",
    },
  };
}
