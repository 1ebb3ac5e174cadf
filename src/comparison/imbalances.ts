import type { Campaign } from "../contract/campaign.ts";
import type { RunEvaluation } from "../contract/evaluation.ts";
import type { Imbalance } from "../contract/reasons.ts";
import type { Settings } from "../contract/settings.ts";
import { axes } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { counterweightMoment, imbalanceDirections, placeAlong, withinHull } from "./imbalance/counterweightMoment.ts";
import { imbalanceBest } from "./imbalance/imbalanceBest.ts";
import { type InfluenceFit, type InfluenceRun, imbalanceFit, vectorAt } from "./imbalance/imbalanceFit.ts";
import { imbalanceTest } from "./imbalance/imbalanceTest.ts";

type Thresholds = Pick<
  Settings,
  "imbalance_moment_share" | "imbalance_runs" | "imbalance_level" | "imbalance_second_level" | "interval_level"
>;

/**
 * What the counterweights flown still leave of the vehicle's synchronous error, and how their moment would have to change:
 * influence coefficients (Goodman) over the used runs of every configuration whose counterweights' moment is known.
 *
 * The vehicle's synchronous vectors (cosine and sine along three axes) are taken to follow the moment in a straight line; the
 * run is the unit. Per trajectory with cycles: the first harmonic, which is what a mass that moves with the arm excites, and
 * the second only where its influence is clear (p below `imbalance_second_level`): it comes from the arm's geometry and is
 * small, and a suggestion for each would be two answers to one question.
 *
 * Along a direction in which the influence is not distinguished from 0 nothing is suggested: `best` stays at the candidate's setting,
 * `value` is 0 without error and interval.
 *
 * @param runs  of the whole campaign; those not used are left out
 * @returns none for a trajectory unless baseline and candidate have runs enough each and differ in a known moment
 */
export function imbalances(campaign: Campaign, runs: readonly RunEvaluation[], settings: Thresholds): Imbalance[] {
  return Object.entries(campaign.trajectories).flatMap(([trajectory, { shape }]) => {
    if (shape === "hold") return [];
    const own = runs.filter((run) => run.used && run.trajectory === trajectory);
    return [1, 2].flatMap((k) => {
      const found = imbalanceOf(campaign, own, settings, k);
      if (found === null) return [];
      const clear = found.influence_p !== null && found.influence_p < settings.imbalance_second_level;
      return k === 1 || clear ? [{ trajectory, ...found }] : [];
    });
  });
}

interface Setting {
  readonly configuration: string;
  readonly moment: Vector3;
  readonly runs: readonly { readonly vector: Float64Array; readonly block: string | null }[];
}

function imbalanceOf(
  campaign: Campaign,
  runs: readonly RunEvaluation[],
  thresholds: Thresholds,
  k: number,
): Omit<Imbalance, "trajectory"> | null {
  const settings = settingsFlown(campaign, runs, k).filter(
    (setting) => setting.runs.length >= thresholds.imbalance_runs,
  );
  const [baseline, candidate] = settings;
  if (baseline?.configuration !== campaign.baseline || candidate?.configuration !== campaign.candidate) return null;
  const directions = imbalanceDirections(
    settings.map(({ moment }) => moment),
    thresholds.imbalance_moment_share,
  );
  const places = settings.map(({ moment }) => placeAlong(directions, moment, baseline.moment));
  const there = places[1]!;
  // without a known difference of the pair a change of the candidate has nothing to go by
  if (!(Math.hypot(...there) > 0)) return null;
  const fit = imbalanceFit(influenceRuns(settings, places));
  if (fit === null) return null;

  const p = imbalanceTest(fit, null);
  const isDistinguished = (value: number | null): boolean => value !== null && value < thresholds.imbalance_level;
  const stated = isDistinguished(p)
    ? [...directions.keys()].filter((j) => directions.length === 1 || isDistinguished(imbalanceTest(fit, j)))
    : [];
  const along =
    imbalanceBest(fit, stated, there, thresholds.interval_level) ??
    imbalanceBest(fit, [], there, thresholds.interval_level)!;
  const best = there.map((value, j) => value + along[j]!.value);
  const moment = sumAlong(directions, along);
  const counts = settings.map((_, number) => fit.runs.filter(({ setting }) => setting === number).length);
  return {
    subject: "vehicle",
    k,
    settings: settings.map(({ configuration, moment: own }, number) => ({
      configuration,
      runs: counts[number]!,
      moment: [...own],
    })),
    directions: directions.map((direction) => [...direction]),
    influence: fit.influence.map(perAxis),
    best: [candidate.moment[0] + moment[0], candidate.moment[1] + moment[1], candidate.moment[2] + moment[2]],
    remaining: { moment, along: along.map(({ value, se, interval }) => ({ value, se, ci95: interval })) },
    synchronous_rms: {
      baseline: rmsOf(meanVector(fit, 0)),
      candidate: rmsOf(meanVector(fit, 1)),
      best: rmsOf(vectorAt(fit, best)),
    },
    extrapolated: !withinHull(places, best),
    influence_p: p,
  };
}

/** Baseline, candidate, then the others; configurations of unknown moment are left out. */
function settingsFlown(campaign: Campaign, runs: readonly RunEvaluation[], k: number): Setting[] {
  const { baseline, candidate, configurations } = campaign;
  return [...new Set([baseline, candidate, ...Object.keys(configurations)])].flatMap((name) => {
    const configuration = configurations[name];
    if (configuration === undefined) return [];
    const moment = counterweightMoment(configuration, name === baseline);
    if (moment === null) return [];
    const own = runs.flatMap((run) => {
      const vector = run.configuration === name ? synchronousVector(run, k) : null;
      return vector === null ? [] : [{ vector, block: run.block }];
    });
    return [{ configuration: name, moment, runs: own }];
  });
}

function synchronousVector(run: RunEvaluation, k: number): Float64Array | null {
  const vector = new Float64Array(6);
  for (const [i, axis] of axes.entries()) {
    const harmonic = run.synchronous?.vehicle?.[axis].harmonics.find((one) => one.k === k);
    if (harmonic === undefined) return null;
    vector[2 * i] = harmonic.cos;
    vector[2 * i + 1] = harmonic.sin;
  }
  return vector;
}

function influenceRuns(settings: readonly Setting[], places: readonly Float64Array[]): InfluenceRun[] {
  const blocks = new Map<string | null, number>();
  return settings.flatMap(({ runs }, setting) =>
    runs.map(({ vector, block }) => {
      if (!blocks.has(block)) blocks.set(block, blocks.size);
      return { vector, setting, place: places[setting]!, block: blocks.get(block)! };
    }),
  );
}

function sumAlong(
  directions: readonly Vector3[],
  along: readonly { readonly value: number }[],
): [number, number, number] {
  const sum: [number, number, number] = [0, 0, 0];
  for (const [j, direction] of directions.entries())
    for (const i of [0, 1, 2] as const) sum[i] += along[j]!.value * direction[i];
  return sum;
}

function perAxis(vector: Float64Array): Imbalance["influence"][number] {
  const [xc, xs, yc, ys, zc, zs] = vector as unknown as readonly [number, number, number, number, number, number];
  return { x: { cos: xc, sin: xs }, y: { cos: yc, sin: ys }, z: { cos: zc, sin: zs } };
}

function meanVector({ runs }: InfluenceFit, setting: number): Float64Array {
  const own = runs.filter((run) => run.setting === setting);
  return own[0]!.vector.map((_, c) => own.reduce((sum, run) => sum + run.vector[c]!, 0) / own.length);
}

/** Root mean square of a cos + b sin over a cycle, all axes: half of each squared coefficient. */
function rmsOf(vector: Float64Array): number {
  return Math.sqrt(vector.reduce((sum, value) => sum + value * value, 0) / 2);
}
