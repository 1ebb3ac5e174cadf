import type { RecordedSignal } from "../foundation/recording.ts";
import { capturePoses } from "./capture.ts";
import { samplingTimes } from "./clocks.ts";
import { recordDraft } from "./draft.ts";
import { applyFaults } from "./faults.ts";
import type { FlightSettings } from "./flightShape.ts";
import { fly } from "./motion.ts";
import { onboardSignals } from "./onboard.ts";
import { effectorMarkers, vehicleMarkers } from "./placement.ts";
import { randomStream } from "./randomStream.ts";
import { varyRun } from "./runVariation.ts";
import { timelineOf } from "./timeline.ts";
import { loggedCommand } from "./trueErrors.ts";
import { type FlightTruth, flightTruth } from "./truth.ts";

/** A flight as it would be logged, and what is known of it. */
export interface SimulatedFlight {
  readonly settings: FlightSettings;
  readonly seed: number;
  readonly signals: readonly RecordedSignal[];
  readonly truth: FlightTruth;
}

/**
 * Flies a hexacopter with an arm under position control, disturbed by its arm and the air, and logs it on two clocks.
 * Deterministic: the same settings and seed give the same bytes. Some 50 ms for 40 s of flight.
 *
 * @param settings what is flown, see `flightSettings` for defaults; run-to-run variation is drawn from the seed
 * @param seed     any integer
 * @example simulateFlight(flightSettings({ clock: { offset: 0.05 } }), 7).truth.clock.offset // => 0.05
 */
export function simulateFlight(settings: FlightSettings, seed: number): SimulatedFlight {
  const run = varyRun(settings, seed);
  const timeline = timelineOf(run);
  const { full, twin } = fly(run, timeline, seed);
  const times = samplingTimes(run.capture.rate, timeline.end, randomStream(seed, "sampling capture"));
  const instants = Array.from(times, (time) => full.at(time));
  const onboard = onboardSignals(run, timeline, seed, full);
  const drafts = [
    capturePoses(
      run,
      seed,
      "vehicle_pose",
      times,
      instants.map((now) => vehicleMarkers(run, now)),
    ),
    capturePoses(
      run,
      seed,
      "effector_pose",
      times,
      instants.map((now) => effectorMarkers(run, now)),
    ),
    ...onboard,
  ];
  const commandTimes = onboard.find((draft) => draft.signal === "effector_command")?.time ?? new Float64Array(0);
  const truth = flightTruth(run, timeline, { full, twin }, loggedCommand(run, timeline, commandTimes), times);
  const cycleTime = (cycle: number): number => timeline.cycleStart + cycle * timeline.period;
  const signals = applyFaults(drafts, run.faults, cycleTime).map((draft) => recordDraft(draft, run.start));
  return { settings, seed, signals, truth };
}
