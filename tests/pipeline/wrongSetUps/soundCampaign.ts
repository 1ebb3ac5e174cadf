import type { Recording } from "../../../src/foundation/recording.ts";
import { flightSettings } from "../../../src/simulation/flightSettings.ts";
import type { FlightChanges, FlightSettings } from "../../../src/simulation/flightShape.ts";
import type { CampaignPlan, PlannedRun } from "../../../src/simulation/manifestFor.ts";
import { simulateFlight } from "../../../src/simulation/simulateFlight.ts";
import { toRecording } from "../../support/toRecording.ts";

/** One flight, what its log holds, and how it is filed. */
export interface FiledRun {
  readonly recording: Recording;
  /** as it was flown, whatever it is filed under */
  readonly flown: "bare" | "weighted";
  readonly day: 1 | 2;
  /** place among all runs, from 0 */
  readonly index: number;
  readonly filed: PlannedRun;
}

/** A campaign as a lab brings it: logs, and a manifest in two parts (what the simulation can write, and edits of its text). */
export interface SetUp {
  readonly runs: readonly FiledRun[];
  readonly plan: Omit<CampaignPlan, "runs">;
  readonly edits: readonly ((manifest: string) => string)[];
}

/** One thing that is otherwise than it was. */
export type Step = (setUp: SetUp) => SetUp;

/** 20 s of flight: the arm rests to 9 s, circles six times to 18 s. Moderate air, an arm that follows well. */
export const soundFlight: FlightSettings = flightSettings({
  timeline: { hold: 8, pause: 1, rest: 2, takeOff: false },
  trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 6, rampIn: 0 },
  air: { force: [0.15, 0.15, 0.15], torque: [0.03, 0.03, 0.01] },
  arm: { movingMass: 1, servoFrequency: 12, transportDelay: 0.005 },
  between: { gain: 0.04, air: 0.1, arm: 0.03, bias: 0.0005, slope: 0.00002 },
  estimate: { rate: 50, positionNoise: 0.002, attitudeNoise: 0.002, delay: 0 },
});

/** Half of the arm's first moment balanced: 40 to 60 % less error of the vehicle along y and z, next to nothing along x. */
export const weights: FlightChanges = {
  balance: [0.5, 0.5, 0.5],
  counterweights: [
    { mass: 0.27, at: [-0.14, 0, 0.02] },
    { mass: 0.27, at: [-0.14, 0, -0.02] },
  ],
};

export const smallestDifference = 0.0005;

/** What the counterweights really do: something, or nothing, as both names stand for one and the same vehicle. */
export const effects = ["known", "none"] as const;
export type Effect = (typeof effects)[number];

/** A day's order: no configuration later than the other on average. */
const order = ["bare", "weighted", "weighted", "bare", "weighted", "bare", "bare", "weighted"] as const;

const kept = new Map<FlightSettings, Map<string, Recording>>();

/** The log of one flight, flown once for all who ask; without weights it is the same for both effects. */
function flightLog(flight: FlightSettings, seed: number, index: number, weighted: boolean): Recording {
  const key = `${seed} ${index} ${weighted}`;
  const logs = kept.get(flight) ?? new Map<string, Recording>();
  kept.set(flight, logs);
  const known = logs.get(key);
  if (known !== undefined) return known;
  const settings = weighted ? flightSettings(weights, flight) : flight;
  const log = toRecording(simulateFlight(settings, 1000 * seed + index), { file: `run-${index + 1}.bag` });
  logs.set(key, log);
  return log;
}

/** Eight flights in two blocks, four of each configuration, set up as they should be. */
export function soundCampaign(seed: number, effect: Effect, flight: FlightSettings = soundFlight): SetUp {
  const runs = order.map((flown, index): FiledRun => {
    const day = index < 4 ? 1 : 2;
    const id = `run-${index + 1}`;
    return {
      recording: flightLog(flight, seed, index, flown === "weighted" && effect === "known"),
      flown,
      day,
      index,
      filed: { log: `${id}.bag`, id, configuration: flown, trajectory: "orbit", block: `day${day}` },
    };
  });
  return { runs, plan: { ...plan, trajectories: { orbit: flight.trajectory }, flight }, edits: [] };
}

const plan: Omit<SetUp["plan"], "trajectories" | "flight"> = {
  title: "Tank-wall swab arm, short flights",
  baseline: "bare",
  candidate: "weighted",
  smallestDifference,
  configurations: {
    bare: { label: "Arm alone" },
    weighted: { label: "Counterweights fitted", counterweights: weights.counterweights! },
  },
  signals: ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_rate"],
};
