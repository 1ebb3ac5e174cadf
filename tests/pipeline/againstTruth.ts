import type { CampaignEvaluation } from "../../src/contract/evaluation.ts";
import { type Axis, axes, type Subject, subjects } from "../../src/foundation/tracks.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import type { FlightSettings } from "../../src/simulation/flightShape.ts";
import { manifestFor } from "../../src/simulation/manifestFor.ts";
import { type SimulatedFlight, simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";

/** What was found of one simulated flight, beside what is known of it. */
export interface Comparison {
  readonly seed: number;
  /** clock offset found less the true one at the same instant, seconds; and over its standard error */
  readonly offsetError: number;
  readonly offsetZ: number;
  readonly skewZ: number;
  /** largest error of the capture's instants within the cycles, seconds: offset and skew together */
  readonly instantError: number;
  /** start of the cycles found less the true one, seconds */
  readonly startError: number;
  readonly periodRatio: number;
  readonly cyclesFound: number;
  readonly cyclesFlown: number;
  readonly slopes: readonly { readonly axis: Axis; readonly z: number; readonly covered: boolean }[];
  readonly coefficients: readonly {
    readonly subject: Subject;
    readonly axis: Axis;
    readonly k: number;
    readonly part: "cos" | "sin";
    readonly z: number;
  }[];
  readonly rms: readonly {
    readonly subject: Subject;
    readonly axis: Axis;
    readonly found: number;
    /** of the true error, without noise, over the same cycles */
    readonly known: number;
    /** sd of the measurement noise of that subject, metres */
    readonly noise: number;
    /** samples in the window */
    readonly n: number;
  }[];
  /** noise sd in flight found over the true one, body and axis */
  readonly noiseRatios: readonly number[];
}

export function manifestOf(flight: FlightSettings, more: { captureClock?: "gyro" | "estimate" } = {}): string {
  return manifestFor({
    title: "Tank-wall swab arm, one flight",
    baseline: "bare",
    candidate: "weighted",
    smallestDifference: 0.001,
    flight,
    configurations: { bare: { label: "Arm alone" }, weighted: { label: "Counterweights fitted" } },
    trajectories: { flown: flight.trajectory },
    runs: [{ log: "flight.bag", configuration: "bare", trajectory: "flown" }],
    ...more,
  });
}

/** Flies once, evaluates what was logged through the whole journey, and sets it against the truth. */
export async function compareWithTruth(
  settings: FlightSettings,
  seed: number,
  captureClock: "gyro" | "estimate" = "gyro",
): Promise<Comparison> {
  const flight = simulateFlight(settings, seed);
  const effects = memoryEffects(manifestOf(settings, { captureClock }), { "flight.bag": flight });
  return compare(flight, await evaluateCampaign("campaign.yaml", { effects }));
}

function compare(flight: SimulatedFlight, evaluation: CampaignEvaluation): Comparison {
  const { truth, settings, seed } = flight;
  const run = evaluation.runs[0]!;
  const clock = run.clocks.mocap!;
  // instants of the evaluation count from the run's epoch, those of the truth from the recording's start
  const start = Number(BigInt(run.epoch!) - settings.start) / 1e9;
  const offsetError = clock.offset - (truth.clock.offset + truth.clock.skew * start);
  return {
    seed,
    offsetError,
    offsetZ: offsetError / clock.offset_se!,
    instantError: Math.max(
      ...[truth.cycleStart, truth.cycleStart + truth.cycles * truth.period].map((time) =>
        Math.abs(offsetError + (clock.skew - truth.clock.skew) * (time - start)),
      ),
    ),
    skewZ: (clock.skew - truth.clock.skew) / clock.skew_se!,
    startError: run.windows.cycles[0]![0] + start - truth.cycleStart,
    periodRatio: run.period! / truth.period,
    cyclesFound: run.windows.cycles.length,
    cyclesFlown: truth.cycles,
    slopes: axes.map((axis, i) => {
      const { slope, slope_se, slope_ci } = run.hold!.vehicle![axis];
      const known = truth.slope[i]!;
      return {
        axis,
        z: (slope! - known) / slope_se!,
        covered: slope_ci![0] <= known && known <= slope_ci![1],
      };
    }),
    coefficients: subjects.flatMap((subject) =>
      axes.flatMap((axis) => {
        const known = truth.synchronous![subject][axis];
        return run.synchronous![subject]![axis].harmonics.flatMap(({ k, cos, sin, cov }) => [
          { subject, axis, k, part: "cos" as const, z: (cos - known.cos[k - 1]!) / Math.sqrt(cov![0]) },
          { subject, axis, k, part: "sin" as const, z: (sin - known.sin[k - 1]!) / Math.sqrt(cov![2]) },
        ]);
      }),
    ),
    rms: subjects.flatMap((subject) =>
      axes.map((axis, i) => {
        const { known, n } = trueRms(flight, subject, i);
        return {
          subject,
          axis,
          found: run.tracking.cycles![subject]![axis].rms,
          known,
          n,
          noise: noiseOf(flight, subject, i),
        };
      }),
    ),
    noiseRatios: (["vehicle", "effector"] as const).flatMap((body) =>
      axes.map((axis, i) => evaluation.noise![body]![axis] / truth.noise[body][i]!),
    ),
  };
}

function trueRms({ truth }: SimulatedFlight, subject: Subject, axis: number): { known: number; n: number } {
  const { time, errors } = truth.samples;
  const end = truth.cycleStart + truth.cycles * truth.period;
  let squares = 0;
  let n = 0;
  for (let i = 0; i < time.length; i++) {
    if (time[i]! < truth.cycleStart || time[i]! >= end) continue;
    squares += errors[subject][axis]![i]! ** 2;
    n++;
  }
  return { known: Math.sqrt(squares / n), n };
}

/** The arm's noise is that of both bodies, and of the vehicle's attitude at the lever to the tool point. */
function noiseOf({ truth, settings }: SimulatedFlight, subject: Subject, axis: number): number {
  if (subject !== "arm") return truth.noise[subject][axis]!;
  const { armBase } = settings.frames;
  const lever = [0, 1, 2].map((i) => armBase.translation[i]! + settings.arm.rest[i]!);
  const across = Math.hypot(...lever.filter((_, i) => i !== axis));
  return Math.hypot(truth.noise.vehicle[axis]!, truth.noise.effector[axis]!, settings.capture.attitudeNoise * across);
}
