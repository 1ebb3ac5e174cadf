import { runsNeeded } from "../comparison/runsNeeded.ts";
import type { BenchEvaluation } from "../contract/benchEvaluation.ts";
import type { Forecast, ToFlight } from "../contract/benchToFlight.ts";
import type { Campaign } from "../contract/campaign.ts";
import { type CampaignEvaluation, errorsAlongHeading, type RunEvaluation } from "../contract/evaluation.ts";
import { addedMassOf } from "../contract/ledger.ts";
import type { Vector3 } from "../foundation/units.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import {
  type BaselinePlace,
  forecastLimits,
  freeBody,
  type Heavier,
  meanOf,
  type Predicted,
  ratioLaw,
  reductionsAt,
} from "./forecast.ts";
import { conjugate, magnitude, meanPhasor, type Phasor, product, timesNumber } from "./phasor.ts";
import { refitPairs } from "./refitPairs.ts";
import { sharedNumbers } from "./sharedNumbers.ts";
import { twoTransfers } from "./twoTransfers.ts";

/** What bench and flights say together. */
export interface BenchAndFlights {
  readonly campaign: Campaign;
  readonly bench: BenchEvaluation;
  readonly flights: Pick<CampaignEvaluation, "runs" | "cells" | "reasons">;
  /** centre of mass of the whole, arm at its mean posture, in the arm base; null where it is not known */
  readonly com: (configuration: string) => Vector3 | null;
}

const level = forecastLimits.level;
const horizontal = ["x", "y"] as const;
type Horizontal = (typeof horizontal)[number];

/** Bench and flights side by side: the one number that both show, and what the two say of flights with the candidate. */
export function benchToFlight(all: BenchAndFlights): Omit<ToFlight, "sealed" | "held"> {
  const { heavier, assumed } = heavierOf(all);
  return { shared: sharedNumbers(all.bench, all.flights.reasons.moving), forecast: forecasts(all, heavier), assumed };
}

/** What more mass and inertia make of a transfer, by what is declared; and what had to be assumed. */
function heavierOf({ campaign, com }: BenchAndFlights): { heavier: Heavier | null; assumed: string[] } {
  const { vehicle, configurations, candidate, baseline } = campaign;
  const mass = vehicle?.mass ?? null;
  const [with_, without] = [candidate, baseline].map((name) => addedMassOf(campaign, name));
  const place = com(baseline);
  if (mass === null || with_ == null || without == null || place === null) return { heavier: null, assumed: [] };
  const weights = configurations[candidate]?.counterweights ?? [];
  const rotors = vehicle?.rotors ?? null;
  const diameter = vehicle?.rotorDiameter ?? null;
  const span = rotors === null || diameter === null ? usualSpan : diameter / Math.sin(Math.PI / rotors);
  const [low, high] = [0.02, 0.06].map((share) => share * (mass + without) * span ** 2) as [number, number];
  const centre = campaign.vehicle?.com ?? campaign.frames.bodyPoint;
  const square = (at: Vector3): number => (at[0] - centre[0]) ** 2 + (at[2] - centre[2]) ** 2;
  const more = weights.reduce(
    (sum, { mass: own, at, movedFrom }) => sum + own * (square(at) - (movedFrom === undefined ? 0 : square(movedFrom))),
    0,
  );
  return {
    heavier: { mass: (mass + without) / (mass + with_), inertia: low / Math.max(0.1 * low, low + more) },
    assumed: [
      `moment of inertia: not declared, ${low.toFixed(3)} to ${high.toFixed(3)} kg m^2 taken (0.02 to 0.06 of mass times square of the span, ${span.toFixed(2)} m${rotors === null || diameter === null ? ", itself taken" : ", by rotors side by side"}); the weights add ${more.toFixed(3)} kg m^2`,
      "the controller's gains are the same with the counterweights",
      "the arm travels with the candidate as it does with the baseline",
    ],
  };
}

/** From rotor to rotor across, m: a house value, where rotors are not declared. */
const usualSpan = 0.6;

interface Flown extends BaselinePlace {
  readonly trajectory: string;
  readonly runs: readonly RunEvaluation[];
}

function forecasts(all: BenchAndFlights, heavier: Heavier | null): Forecast[] {
  return horizontal.flatMap((axis) => {
    const places = Object.keys(all.campaign.trajectories).flatMap((trajectory) => {
      const place = flownPlace(all, trajectory, axis);
      return place === null ? [] : [place];
    });
    return places.map((_, at) => forecastOf(all, places, at, axis, heavier));
  });
}

/** Baseline flights of a trajectory; each run turned so that the arm's travel is real. Null where bench or flights lack it. */
function flownPlace(
  { campaign, bench, flights, com }: BenchAndFlights,
  trajectory: string,
  axis: Horizontal,
): Flown | null {
  const seen = seenIn(flights.runs, trajectory, campaign.baseline, axis);
  if (seen.length === 0) return null;
  const refits = refitPairs(
    bench,
    { trajectory, axis, baseline: campaign.baseline, candidate: campaign.candidate },
    com,
  );
  if (refits === null) return null;
  return {
    trajectory,
    rate: meanOf(seen, ({ run }) => 1 / run.period!),
    travel: [meanOf(seen, ({ travel }) => travel), 0],
    displacements: seen.map(({ displacement }) => displacement),
    refits,
    runs: seen.map(({ run }) => run),
  };
}

/** First harmonic of the vehicle's error along an axis of its heading, in step with the arm's travel along it; one per used run. */
export function seenIn(
  runs: readonly RunEvaluation[],
  trajectory: string,
  configuration: string,
  axis: Horizontal,
): { readonly run: RunEvaluation; readonly travel: number; readonly displacement: Phasor }[] {
  return runs.flatMap((run) => {
    if (!run.used || run.trajectory !== trajectory || run.configuration !== configuration || run.period === null)
      return [];
    const travel = run.moving?.[axis]?.find(({ k }) => k === 1)?.travel;
    const vehicle = run.synchronous?.vehicle;
    const [x, y] = horizontal.map((one) => vehicle?.[one].harmonics.find(({ k }) => k === 1));
    if (travel === undefined || x === undefined || y === undefined) return [];
    const yaw = run.heading === null || run.heading.taken_out !== null ? 0 : run.heading.yaw;
    const [cos, sin] = axis === "x" ? [Math.cos(yaw), Math.sin(yaw)] : [-Math.sin(yaw), Math.cos(yaw)];
    const error: Phasor = [cos * x.cos + sin * y.cos, -(cos * x.sin + sin * y.sin)];
    const size = magnitude(travel);
    const displacement = product(error, timesNumber(conjugate(travel), 1 / size));
    return [{ run, travel: size, displacement }];
  });
}

function forecastOf(
  all: BenchAndFlights,
  places: readonly Flown[],
  at: number,
  axis: Horizontal,
  heavier: Heavier | null,
): Forecast {
  const place = places[at]!;
  const { trajectory, rate, displacements, refits, travel } = place;
  const baseline = magnitude(meanPhasor(displacements));
  const unknown: Predicted = { refused: "take-off masses or centre of mass are not known" };
  const runs = displacements.length;
  const fit = places.filter((one) => one.refits.length >= 2 && one.displacements.length >= 2);
  const among = fit.indexOf(place);
  const poor = {
    refused:
      "fewer than two refits of the bench at three rates hold both configurations, or fewer than two baseline flights",
  };
  const transfers = heavier === null ? unknown : among < 0 ? poor : twoTransfers(fit, among, heavier, runs);
  const law = heavier === null ? unknown : ratioLaw(place, heavier, runs);
  const reductions = refits.length === 0 ? null : reductionsAt(refits, rate);
  const [method, found] =
    "refused" in transfers
      ? "refused" in law
        ? ([null, null] as const)
        : (["ratio law", law] as const)
      : (["two transfers", transfers] as const);
  const left = refits.length === 0 ? 0 : meanOf(refits, ({ candidate }) => candidate.mass);
  const whole = (all.campaign.vehicle?.mass ?? 0) + (addedMassOf(all.campaign, all.campaign.candidate) ?? 0);
  return {
    trajectory,
    axis,
    rate,
    baseline,
    runs,
    force_reduction: reductions?.force ?? null,
    moment_reduction: reductions?.moment ?? null,
    apart: reductions?.apart ?? null,
    transfers_refused: "refused" in transfers ? transfers.refused : null,
    ratio_law_refused: "refused" in law ? law.refused : null,
    method,
    expected: found?.expected ?? null,
    range: found === null ? null : [...found.range],
    prediction: found === null ? null : [...found.prediction],
    difference: found === null ? null : found.expected - baseline,
    free_body: whole > 0 ? freeBody(left, travel, whole) : 0,
    cell: found === null ? null : cellOf(all, place, axis, baseline, found.expected),
  };
}

/** What it means for the cell of the primary measure: the part in step changes, the rest stays as with the baseline. */
function cellOf(
  { campaign, flights }: BenchAndFlights,
  { runs }: Flown,
  axis: Horizontal,
  before: number,
  after: number,
): Forecast["cell"] {
  const metric = campaign.primary;
  if (metric !== "rms" && metric !== "synchronous") return null;
  if (!runs.every(errorsAlongHeading)) return null;
  const values = runs.flatMap((run) => {
    const value = metric === "rms" ? run.tracking.cycles?.vehicle?.[axis]?.rms : run.synchronous?.vehicle?.[axis].rms;
    return value === undefined || value === null ? [] : [value];
  });
  if (values.length < 2) return null;
  const usual = mean(Float64Array.from(values));
  const sd = sampleStandardDeviation(Float64Array.from(values));
  const expected = Math.sqrt(Math.max(0, usual ** 2 + (after ** 2 - before ** 2) / 2));
  const difference = expected - usual;
  const smallest = campaign.smallestDifference.vehicle;
  const family = Math.max(1, flights.cells.filter(({ in_family }) => in_family).length);
  const mm = (value: number): string => `${(1000 * value).toFixed(1)} mm`;
  const small = smallest !== null && Math.abs(difference) < smallest;
  const needed =
    small || sd === 0 || difference === 0
      ? null
      : runsNeeded({
          smallestDifference: Math.abs(difference),
          sd: [sd, sd],
          spreadDf: values.length - 1,
          level: (1 - level) / family,
        }).middle;
  const says = small
    ? `not worth flying for this cell: expected ${mm(difference)}, smallest that matters ${mm(smallest)}`
    : needed === null
      ? `expected ${mm(difference)}`
      : `expected ${mm(difference)}: a verdict in about ${needed} runs of each configuration`;
  return { metric, baseline: usual, expected, difference, smallest, runs_needed: needed, says };
}
