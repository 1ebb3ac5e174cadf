import type { MeasuredDeclaration, RunGrounds } from "../contract/runGrounds.ts";
import type { Settings } from "../contract/settings.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { SignalName } from "../foundation/tracks.ts";
import { type PreparedSignal, prepareSignal } from "./timedSignals.ts";

/** All signals of a run in order on their own clocks. The raw poses are not kept: a long log holds hundreds of megabytes. */
export type PreparedSignals = ReadonlyMap<SignalName, PreparedSignal>;

/** Prepares every signal of a run, the vehicle's pose first: how its axes are meant tells it of the tool's; see prepareSignal. */
export function prepareSignals(
  campaign: RunGrounds,
  run: MeasuredDeclaration,
  signals: ReadonlyMap<SignalName, RecordedSignal>,
  settings: Settings,
): PreparedSignals {
  const pose = signals.get("vehicle_pose");
  const vehicle = pose === undefined ? null : prepareSignal(campaign, run, pose, settings);
  const prepare = (name: SignalName, signal: RecordedSignal): PreparedSignal =>
    name === "vehicle_pose" && vehicle !== null
      ? vehicle
      : prepareSignal(campaign, run, signal, settings, vehicle?.bodyUp ?? null);
  return new Map([...signals].map(([name, signal]) => [name, prepare(name, signal)]));
}
