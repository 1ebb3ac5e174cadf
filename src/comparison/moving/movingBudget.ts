import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { MovingEffect } from "../../contract/reasons.ts";
import type { MovingEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { standardGravity } from "../../foundation/units.ts";

/** A run with what moves along one axis at one harmonic. */
export interface MovingRun {
  readonly run: RunEvaluation;
  readonly figures: NonNullable<MovingEvaluation["x"]>[number];
  /** apparent moving mass in the unit of its group, real and imaginary part */
  readonly value: readonly [number, number];
}

type Phasor = readonly [number, number];

/** Linear drag of a multirotor in hover, 1/s: common practice, no source. */
const drags = [0.05, 0.3] as const;

/**
 * By how much the apparent moving mass of these runs may be off for reasons that no interval over runs shows, and what of it
 * cancels in the ratio of two configurations. All that the fit itself gives: mass, height of the centre of mass, noise, drag.
 *
 *   height h: h D / S of the whole      drag c: c X' / (W^2 S), so Re(-i c X / (W S)) of the whole, X the place of the whole
 *
 * @returns magnitudes, in the unit of the group
 */
export function movingBudget(
  campaign: Campaign,
  runs: readonly MovingRun[],
  unit: "kg" | "1",
  settings: Settings,
): MovingEffect["budget"] {
  if (runs.length === 0) return [];
  const over = (of: (run: MovingRun) => number): number => runs.reduce((sum, run) => sum + of(run), 0) / runs.length;
  const whole = ({ run }: MovingRun): number => (unit === "kg" ? run.moving!.mass! : 1);
  const { vehicle } = campaign;
  const massError =
    vehicle?.massUncertainty !== undefined && vehicle.mass
      ? vehicle.massUncertainty / vehicle.mass
      : settings.moving_mass_error;
  const lift = over((run) => whole(run) * ratio(run.figures.tilt, run.figures.travel)[0]);
  const pulled = over((run) => whole(run) * dragged(run));
  const noise = over((run) => whole(run) ** 2 * (run.figures.share_variance ?? 0));
  const millimetres = 1000 * settings.moving_height;
  return [
    ...(unit === "kg"
      ? [
          {
            what: `mass of the whole, ${(100 * massError).toFixed(1)} %`,
            effect: Math.abs(massError * over(({ value }) => value[0])),
            cancels: true,
          },
        ]
      : []),
    {
      what: `centre of mass ${millimetres} mm higher or lower`,
      effect: Math.abs(lift * settings.moving_height),
      cancels: true,
    },
    {
      what: "air and noise of the capture, of the mean over these runs",
      effect: Math.sqrt(noise / runs.length),
      cancels: false,
    },
    ...drags.map((drag) => ({ what: `drag of ${drag} /s`, effect: Math.abs(drag * pulled), cancels: true })),
  ];
}

/** What drag of 1/s adds to the apparent mass, per mass of the whole: Re(-i X / (W S)), with X = -mu/m - g D / W^2. */
function dragged({ run, figures }: MovingRun): number {
  const rate = (2 * Math.PI * figures.k) / run.period!;
  const [re, im] = ratio(figures.tilt, figures.travel);
  const place: Phasor = [
    -figures.share[0] - (standardGravity * re) / rate ** 2,
    -figures.share[1] - (standardGravity * im) / rate ** 2,
  ];
  return place[1] / rate;
}

function ratio(a: readonly number[], b: readonly number[]): Phasor {
  const square = b[0]! ** 2 + b[1]! ** 2;
  return [(a[0]! * b[0]! + a[1]! * b[1]!) / square, (a[1]! * b[0]! - a[0]! * b[1]!) / square];
}

export type MovingConfiguration = MovingEffect["configurations"][string];

/**
 * What makes an apparent moving mass doubtful. `moment-phase`: what moves is not in step with the arm, which no mass can do; or,
 * without counterweights, moves against it. `moment-too-large`: more moves than the ledger has. `moment-reversed`: clearly more moves
 * with counterweights than without, though the ledger expects less of them or says nothing. All are judged on a configuration's
 * mean, never on a run.
 *
 * @param most  all that the ledger says moves along the axis, kg; null where it does not say
 * @param bare  nothing that could move against the arm is fitted
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
      message: `along the vehicle's ${axis} what moves is not in step with the arm: a part of ${share} % stands a quarter of a cycle ${of.imaginary > 0 ? "before" : "after"} it, which no mass can do`,
    });
  } else if (bare && of.ci95 !== null && of.ci95[1] < 0)
    found.push({
      code: "moment-phase",
      message: `along the vehicle's ${axis} what moves goes against the arm, which without counterweights no mass can do`,
    });
  if (unit === "kg" && most !== null && of.ci95 !== null && of.ci95[0] > most)
    found.push({
      code: "moment-too-large",
      message: `along the vehicle's ${axis} ${Math.round(1000 * of.mean)} g seem to move (at least ${Math.round(1000 * of.ci95[0])} g), and all declared parts that move weigh ${Math.round(1000 * most)} g`,
    });
  const reversed = of.ci95 !== null && baseline?.ci95 != null && of.ci95[0] > baseline.ci95[1];
  // unless the declared masses say that more moves
  const fewer = of.expected === null || baseline?.expected == null || of.expected <= baseline.expected;
  if (!bare && baseline !== null && reversed && fewer && of.mean > settings.moment_reversed * Math.abs(baseline.mean))
    found.push({
      code: "moment-reversed",
      message: `along the vehicle's ${axis} the arm moves it more with the counterweights than without (${movedText(of.mean, unit)} against ${movedText(baseline.mean, unit)}): the runs may be filed under each other's configuration`,
    });
  return found;
}

const movedText = (mean: number, unit: "kg" | "1"): string =>
  unit === "kg" ? `${Math.round(1000 * mean)} g` : `${(100 * mean).toFixed(1)} % of the whole`;

const hints = {
  "moment-phase":
    "look for an attitude that is filtered, late, or of another body, for turned body axes, for a centre of mass that lies elsewhere (`vehicle.com`), and for drag",
  "moment-too-large":
    "weigh the arm and correct `parts`, or look for a take-off mass, a travel or a capture scale that is off",
  "moment-reversed":
    "look what was fitted on each flight (take-off mass, photographs) and correct `configuration`; where it is right, look on which side of the joint the counterweights sit, and accept this with the reason",
} as const;

/** The same findings as checks of the runs that they rest on, by run id. But for the last they move no error, and hold back no verdict. */
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
