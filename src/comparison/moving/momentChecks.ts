import type { Campaign } from "../../contract/campaign.ts";
import type { MovingEffect } from "../../contract/reasons.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";

export type MovingConfiguration = MovingEffect["configurations"][string];

/**
 * What makes an apparent moving mass doubtful. `moment-phase`: what moves is not in step with the arm, which no mass can do; or,
 * without counterweights, moves against it. `moment-too-large`: more moves than the ledger has. Both are judged on a
 * configuration's mean, never on a run.
 *
 * @param most  all that the ledger says moves along the axis, kg; null where it does not say
 * @param bare  the configuration has no counterweights
 */
export function momentChecks(
  of: MovingConfiguration,
  baseline: MovingConfiguration | null,
  { axis, unit, most, bare }: { axis: "x" | "y"; unit: "kg" | "1"; most: number | null; bare: boolean },
  settings: Settings,
): MovingConfiguration["checks"] {
  const found: MovingConfiguration["checks"] = [];
  const larger = Math.max(Math.abs(of.mean), Math.abs(baseline?.mean ?? 0));
  const clear = of.imaginary_ci !== null && of.imaginary_ci[0] * of.imaginary_ci[1] > 0;
  if (clear && Math.abs(of.imaginary) > settings.moving_phase_share * larger) {
    const share = Math.round((100 * Math.abs(of.imaginary)) / larger);
    found.push({
      code: "moment-phase",
      message: `along ${axis} what moves is not in step with the arm: a part of ${share} % stands a quarter of a cycle ${of.imaginary > 0 ? "before" : "after"} it, which no mass can do`,
    });
  } else if (bare && of.ci95 !== null && of.ci95[1] < 0)
    found.push({
      code: "moment-phase",
      message: `along ${axis} what moves goes against the arm, which without counterweights no mass can do`,
    });
  if (unit === "kg" && most !== null && of.ci95 !== null && of.ci95[0] > most)
    found.push({
      code: "moment-too-large",
      message: `along ${axis} ${Math.round(1000 * of.mean)} g seem to move (at least ${Math.round(1000 * of.ci95[0])} g), and all declared parts that move weigh ${Math.round(1000 * most)} g`,
    });
  return found;
}

const hints = {
  "moment-phase":
    "look for an attitude that is filtered, late, or of another body, for turned body axes, for a centre of mass that lies elsewhere (`vehicle.com`), and for drag",
  "moment-too-large":
    "weigh the arm and correct `parts`, or look for a take-off mass, a travel or a capture scale that is off",
} as const;

/** The same findings as checks of the runs that they rest on, by run id. They move no error, so they hold back no verdict. */
export function momentFindings(
  { baseline }: Pick<Campaign, "baseline">,
  effects: readonly MovingEffect[],
): Map<string, Check[]> {
  const found = new Map<string, Check[]>();
  for (const { configurations, harmonic, axis } of effects) {
    for (const { checks, runs, mean, imaginary } of Object.values(configurations)) {
      for (const { code, message } of checks) {
        const evidence = {
          axis,
          harmonic,
          apparent: mean,
          imaginary,
          baseline: configurations[baseline]?.mean ?? null,
        };
        const check: Check = { code, severity: "doubt", message, evidence, hint: hints[code as keyof typeof hints] };
        for (const id of runs) found.set(id, [...(found.get(id) ?? []), check]);
      }
    }
  }
  return found;
}
