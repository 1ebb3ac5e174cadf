import { axes } from "../../../src/foundation/tracks.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import { type SimulatedFlight, simulateFlight } from "../../../src/simulation/simulateFlight.ts";
import { loggedTrial } from "./loggedTrial.ts";
import { type Effect, type Step, soundFlight, weights } from "./soundCampaign.ts";
import { recordedOnly } from "./steps.ts";

/** Weighted minus bare, metres; "vehicle y" and so on. */
export type TrueDifferences = ReadonlyMap<string, number>;

interface TrialSetUp {
  /** what makes it of the sound campaign */
  readonly steps: readonly Step[];
  readonly subjects: readonly ("vehicle" | "effector")[];
  /** seconds in which it is scored where it is set up as it should be; null: the whole cycles */
  readonly scored: readonly [from: number, to: number] | null;
}

/** The campaigns that are set up wrongly, and where each is scored when it is not. */
export const trials = {
  orbit: { steps: [], subjects: ["vehicle", "effector"], scored: null },
  // all of a logged trajectory but its first 3 s
  logged: { steps: loggedTrial, subjects: ["vehicle"], scored: [3, Number.POSITIVE_INFINITY] },
  "logged to 12 s": { steps: [...loggedTrial, recordedOnly(0, 12)], subjects: ["vehicle"], scored: [3, 12] },
  "logged from 6 s": {
    steps: [...loggedTrial, recordedOnly(6, 99)],
    subjects: ["vehicle"],
    scored: [9, Number.POSITIVE_INFINITY],
  },
} as const satisfies Record<string, TrialSetUp>;
export type Trial = keyof typeof trials;
export const trialNames = Object.keys(trials) as Trial[];

/**
 * What every set-up is held against: by how much the weights change the rms of the *true* errors, on average over flights.
 *
 * It rests on nothing that is evaluated: the simulation's own errors, before capture, clocks and logs, over the window in which the
 * flight was flown. Both members of a pair are the same flight (air, tuning, arm: one seed) with and without weights, so that the
 * spread between flights falls out: the pairs differ by 0.07 to 0.16 mm (sd), hence 100 of them give the mean to some 0.015 mm, a
 * thirtieth of the smallest difference. The flights are not those of the campaigns, whose mean a sound interval
 * is to hold like that of any other flights. The capture's noise adds 0.2 mm in quadrature to every rms, which moves no difference
 * by more than 0.01 mm.
 */
export function flownDifferences(pairs: number): Readonly<Record<Trial, TrueDifferences>> {
  const sums = Object.fromEntries(trialNames.map((trial) => [trial, new Map<string, number>()])) as Record<
    Trial,
    Map<string, number>
  >;
  for (let pair = 0; pair < pairs; pair++) {
    const bare = simulateFlight(soundFlight, 900_000 + pair);
    const weighted = simulateFlight(flightSettings(weights, soundFlight), 900_000 + pair);
    for (const trial of trialNames)
      for (const subject of trials[trial].subjects)
        for (const axis of [0, 1, 2] as const) {
          const cell = `${subject} ${axes[axis]}`;
          const apart = trueRms(weighted, trial, subject, axis) - trueRms(bare, trial, subject, axis);
          sums[trial].set(cell, (sums[trial].get(cell) ?? 0) + apart / pairs);
        }
  }
  return sums;
}

/** `flownDifferences(100)` in millimetres: the slow suite flies them again. */
export const differencesFlown: Readonly<Record<Trial, Readonly<Record<string, number>>>> = {
  orbit: {
    "vehicle x": -0.0418,
    "vehicle y": -2.1717,
    "vehicle z": -0.9465,
    "effector x": -0.1132,
    "effector y": -3.3683,
    "effector z": -0.9489,
  },
  logged: { "vehicle x": -0.0497, "vehicle y": -1.5697, "vehicle z": -0.6562 },
  "logged to 12 s": { "vehicle x": -0.0526, "vehicle y": -1.1262, "vehicle z": -0.477 },
  "logged from 6 s": { "vehicle x": -0.0443, "vehicle y": -1.9892, "vehicle z": -0.8521 },
};

/** Without an effect both names stand for one vehicle: exactly zero. */
export function trueDifferences(trial: Trial, effect: Effect): TrueDifferences {
  const flown = Object.entries(differencesFlown[trial]);
  return new Map(flown.map(([cell, millimetres]) => [cell, effect === "none" ? 0 : millimetres / 1000]));
}

function trueRms({ truth }: SimulatedFlight, trial: Trial, subject: "vehicle" | "effector", axis: 0 | 1 | 2): number {
  const { cycleStart, cycles, period, samples, timeline } = truth;
  const { scored } = trials[trial];
  const [start, end] =
    scored === null ? [cycleStart, cycleStart + cycles * period] : [scored[0], Math.min(scored[1], timeline.end)];
  const errors = samples.errors[subject][axis]!.filter((_, i) => samples.time[i]! >= start && samples.time[i]! < end);
  return Math.sqrt(errors.reduce((sum, error) => sum + error * error, 0) / errors.length);
}
