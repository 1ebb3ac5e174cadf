import type { Campaign } from "../../contract/campaign.ts";
import type { RunEvaluation } from "../../contract/evaluation.ts";
import type { MovingEffect } from "../../contract/reasons.ts";
import type { MovingEvaluation } from "../../contract/runExtras.ts";
import type { Settings } from "../../contract/settings.ts";
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
