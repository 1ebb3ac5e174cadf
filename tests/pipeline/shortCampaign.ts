import type { RunEvaluation } from "../../src/contract/evaluation.ts";
import type { Check, CheckCode } from "../../src/foundation/checks.ts";
import type { Recording } from "../../src/foundation/recording.ts";
import { evaluateCampaign } from "../../src/pipeline/evaluateCampaign.ts";
import { flightSettings } from "../../src/simulation/flightSettings.ts";
import type { FlightChanges, FlightSettings } from "../../src/simulation/flightShape.ts";
import { type CampaignPlan, manifestFor, type PlannedRun } from "../../src/simulation/manifestFor.ts";
import { type SimulatedFlight, simulateFlight } from "../../src/simulation/simulateFlight.ts";
import { memoryEffects } from "../support/simulatedCampaign.ts";

/** 20 s of flight, enough for a hold window and six cycles: hold 0 to 8 s, cycles from 9 to 18 s. */
export function shortSettings(changes: FlightChanges = {}): FlightSettings {
  return flightSettings({
    timeline: { hold: 8, pause: 1, rest: 2, takeOff: false },
    trajectory: { shape: "circle", plane: "yz", radius: 0.06, speed: 0.25, cycles: 6, rampIn: 0 },
    ...changes,
  });
}

export const shortFlight = (seed: number, changes: FlightChanges = {}): SimulatedFlight =>
  simulateFlight(shortSettings(changes), seed);

/** The manifest of short flights; runs are told by their log's name where nothing else is said. */
export function shortManifest(
  runs: readonly (string | PlannedRun)[],
  more: Partial<CampaignPlan> & { flight?: FlightSettings } = {},
): string {
  const flight = more.flight ?? shortSettings();
  return manifestFor({
    title: "Tank-wall swab arm, short flights",
    baseline: "bare",
    candidate: "weighted",
    smallestDifference: 0.001,
    configurations: { bare: { label: "Arm alone" }, weighted: { label: "Counterweights fitted" } },
    trajectories: { orbit: flight.trajectory },
    signals: ["vehicle_pose", "effector_pose", "vehicle_setpoint", "effector_command", "vehicle_rate"],
    runs: runs.map((run) =>
      typeof run === "string" ? { log: run, id: idOf(run), configuration: "bare", trajectory: "orbit" } : run,
    ),
    ...more,
    flight,
  });
}

export const idOf = (log: string): string => log.replace(/\.bag$/, "");

/** Evaluates flights that live in memory, one run a log. */
export async function evaluateFlights(
  logs: Readonly<Record<string, SimulatedFlight | Recording>>,
  manifest: string = shortManifest(Object.keys(logs)),
): ReturnType<typeof evaluateCampaign> {
  return evaluateCampaign("campaign.yaml", { effects: memoryEffects(manifest, logs) });
}

/** Its checks of one code. */
export const checksOf = (run: RunEvaluation, code: CheckCode): Check[] =>
  run.checks.filter((check) => check.code === code);

/** "code severity" of each check, for a glance. */
export const glance = (run: RunEvaluation): string[] => run.checks.map(({ code, severity }) => `${code} ${severity}`);
