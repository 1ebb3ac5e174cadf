import type { BenchEvaluation, BenchRunEvaluation } from "../contract/benchEvaluation.ts";
import { benchSettings } from "../contract/benchSettings.ts";
import type { Vector3 } from "../foundation/units.ts";
import { gravityChannel } from "./benchRuns.ts";
import type { RefitOfAxis, RefitPair } from "./forecast.ts";
import { type Phasor, phasorOf, plus, quotient, timesNumber } from "./phasor.ts";
import { type AtRate, gravityAndInertia } from "./refits.ts";

interface PairPlace {
  readonly trajectory: string;
  readonly axis: "x" | "y";
  readonly baseline: string;
  readonly candidate: string;
}

/**
 * What each refit that holds both configurations says of an axis: moving mass, and gravity's and inertia's moment about the centre
 * of mass of the whole as it flies, which the counterweights may move. From the bench as it stands in an evaluation. The device's
 * filter is left in: the two sides of a ratio share it.
 *
 * @param com  in the arm base
 * @returns null where the centre of mass is not known or the bench lacks the trajectory; empty where no refit holds both at three
 *   rates or more
 */
export function refitPairs(
  bench: BenchEvaluation,
  { trajectory, axis, baseline, candidate }: PairPlace,
  com: (configuration: string) => Vector3 | null,
): RefitPair[] | null {
  const own = bench.runs.filter((run) => run.used && run.trajectory === trajectory && run.channels !== null);
  if (own.length === 0) return null;
  const sides = [baseline, candidate].map((name) => {
    const at = com(name);
    return at === null
      ? null
      : sideOf(
          own.filter(({ configuration }) => configuration === name),
          axis,
          bench,
          at,
        );
  });
  const [b, c] = sides;
  if (b == null || c == null) return null;
  return [...b].flatMap(([refit, one]) => (c.has(refit) ? [{ baseline: one, candidate: c.get(refit)! }] : []));
}

function sideOf(
  runs: readonly BenchRunEvaluation[],
  axis: "x" | "y",
  { point }: BenchEvaluation,
  com: Vector3,
): Map<string, RefitOfAxis> {
  const shift = [0, 1, 2].map((i) => point.at[i]! - com[i]!) as unknown as Vector3;
  const readings = runs.flatMap((run): AtRate[] => {
    const value = momentPerTravel(run, axis, shift);
    return value === null ? [] : [{ refit: run.refit ?? "", rate: 1 / run.period!, value }];
  });
  const moments = gravityAndInertia(readings, benchSettings.least_speeds, benchSettings.interval_level);
  return new Map(
    (moments?.refits ?? []).flatMap(({ refit, gravitational, inertial }) => {
      const masses = runs
        .filter((run) => (run.refit ?? "") === refit)
        .flatMap((run) => run.apparent_mass?.[axis] ?? []);
      const weight = masses.reduce((sum, { se }) => sum + 1 / se ** 2, 0);
      if (!(weight > 0) || !Number.isFinite(weight)) return [];
      const mass = masses.reduce((sum, { re, se }) => sum + re / se ** 2, 0) / weight;
      return [[refit, { mass, gravity: gravitational, inertia: inertial }] as const];
    }),
  );
}

/** Real part of the moment about the centre of mass over travel, N: M + r x F, r from there to where the bench's moments are about. */
function momentPerTravel(run: BenchRunEvaluation, axis: "x" | "y", [x, y, z]: Vector3): number | null {
  const travel = run.travel?.[axis];
  if (travel === undefined || run.period === null || run.apparent_mass?.[axis] === undefined) return null;
  const of = (name: "fx" | "fy" | "fz" | "mx" | "my"): Phasor => {
    const first = run.channels![name]?.harmonics[0];
    return first === undefined ? [0, 0] : phasorOf(first);
  };
  const { channel, sign } = gravityChannel[axis];
  const [across, along, lever] = axis === "x" ? [of("fx"), of("fz"), [z, -x]] : [of("fz"), of("fy"), [y, -z]];
  const moved = [of(channel), timesNumber(across, lever[0]!), timesNumber(along, lever[1]!)].reduce(plus);
  return sign * quotient(moved, travel)[0];
}
