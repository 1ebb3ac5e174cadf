import { type Axis, axes } from "../../../src/foundation/signals.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import { type SimulatedFlight, simulateFlight } from "../../../src/simulation/simulateFlight.ts";
import { type Effect, soundFlight, weights } from "./soundCampaign.ts";

/** Where a properly set up campaign is scored: whole cycles, or all of a logged trajectory but its first 3 s. */
export const trials = ["orbit", "logged"] as const;
export type Trial = (typeof trials)[number];

/** Weighted minus bare, metres; "vehicle y" and so on. */
export type TrueDifferences = ReadonlyMap<string, number>;

/**
 * What every set-up is held against: by how much the weights change the rms of the *true* errors, on average over flights.
 *
 * It rests on nothing that is evaluated: the simulation's own errors, before capture, clocks and logs, over the window in which the
 * flight was flown. Both members of a pair are the same flight (air, tuning, arm: one seed) with and without weights, so that the
 * spread between flights falls out: the pairs differ by 0.07 to 0.16 mm (sd), hence 40 of them give the mean to some 0.02 mm, a
 * twentieth of the smallest difference. The flights are not those of the campaigns, whose mean a sound interval
 * is to hold like that of any other flights. Without an effect both names stand for one vehicle: exactly zero. The capture's noise
 * adds 0.2 mm in quadrature to every rms, which moves no difference by more than 0.01 mm.
 */
export function trueDifferences(trial: Trial, effect: Effect, pairs = 40): TrueDifferences {
  const subjects = trial === "orbit" ? (["vehicle", "effector"] as const) : (["vehicle"] as const);
  const sums = new Map<string, number>(
    subjects.flatMap((subject) => axes.map((axis) => [`${subject} ${axis}`, 0] as const)),
  );
  if (effect === "none") return sums;
  for (let pair = 0; pair < pairs; pair++) {
    const bare = simulateFlight(soundFlight, 900_000 + pair);
    const weighted = simulateFlight(flightSettings(weights, soundFlight), 900_000 + pair);
    for (const subject of subjects)
      for (const axis of axes) {
        const key = `${subject} ${axis}`;
        const apart = trueRms(weighted, trial, subject, axis) - trueRms(bare, trial, subject, axis);
        sums.set(key, sums.get(key)! + apart / pairs);
      }
  }
  return sums;
}

function trueRms({ truth }: SimulatedFlight, trial: Trial, subject: "vehicle" | "effector", axis: Axis): number {
  const { cycleStart, cycles, period, samples, timeline } = truth;
  const [start, end] = trial === "orbit" ? [cycleStart, cycleStart + cycles * period] : [3, timeline.end];
  const errors = samples.errors[subject][axes.indexOf(axis)]!.filter(
    (_, i) => samples.time[i]! >= start && samples.time[i]! < end,
  );
  return Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length);
}
