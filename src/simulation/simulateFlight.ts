import type { RecordedSignal } from "../foundation/recording.ts";
import type { Axis, Subject } from "../foundation/tracks.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import { randomStream } from "./attitude.ts";
import { capturePoses, controlPointNoise } from "./capture.ts";
import { recordDraft } from "./draft.ts";
import { applyFaults } from "./faults.ts";
import type { FlightSettings, Loop } from "./flightShape.ts";
import { fly, type Motion } from "./motion.ts";
import { onboardSignals } from "./onboard.ts";
import { effectorMarkers, vehicleMarkers } from "./placement.ts";
import { samplingTimes, type Timeline, timelineOf } from "./timeline.ts";
import {
  type HarmonicTruth,
  harmonicTruth,
  type LoggedCommand,
  loggedCommand,
  type SubjectErrors,
  trueErrors,
} from "./trueErrors.ts";

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
  const cycleTime = (cycle: number): number => timeline.cycleStart + cycle * timeline.period;
  const signals = applyFaults(drafts, run.faults, cycleTime).map((draft) => recordDraft(draft, run.start));
  let truth: FlightTruth | null = null;
  return {
    settings,
    seed,
    signals,
    // a third of the work, which few ask for
    get truth() {
      truth ??= flightTruth(run, timeline, { full, twin }, loggedCommand(run, timeline, commandTimes), times);
      return truth;
    },
  };
}

/**
 * The settings of one run: loop gains, air, the arm's moving mass, standing bias and drift vary from run to run
 * (`between`), because packs, tuning, hoses and doors do. What is drawn here is known truth afterwards.
 */
export function varyRun(settings: FlightSettings, seed: number): FlightSettings {
  const random = randomStream(seed, "between runs");
  const { between, vehicle, arm, air, drift } = settings;
  const factor = (sd: number): number => Math.exp(sd * random.normal());
  const spread = (sd: number): Vector3 => [sd * random.normal(), sd * random.normal(), sd * random.normal()];
  // a gain is the square of a loop's frequency
  const tuned = (loop: Loop): Loop => ({ ...loop, frequency: loop.frequency * Math.sqrt(factor(between.gain)) });
  const airFactors: Vector3 = [factor(between.air), factor(between.air), factor(between.air)];
  return {
    ...settings,
    vehicle: {
      ...vehicle,
      horizontalLoop: tuned(vehicle.horizontalLoop),
      verticalLoop: tuned(vehicle.verticalLoop),
      attitudeLoop: tuned(vehicle.attitudeLoop),
      yawLoop: tuned(vehicle.yawLoop),
    },
    arm: { ...arm, movingMass: arm.movingMass * factor(between.arm) },
    air: { ...air, force: times(air.force, airFactors), torque: times(air.torque, airFactors) },
    drift: {
      ...drift,
      bias: plus(drift.bias, spread(between.bias)),
      slope: plus(drift.slope, spread(between.slope)),
    },
  };
}

function times(a: Vector3, b: Vector3): Vector3 {
  return [a[0] * b[0], a[1] * b[1], a[2] * b[2]];
}

function plus(a: Vector3, b: Vector3): Vector3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

/** What is known of a simulated flight. Times are seconds after `settings.start` on the onboard clock, which is the reference. */
interface FlightTruth {
  /** settings of this run after its own variation */
  readonly resolved: FlightSettings;
  readonly timeline: Timeline;
  /** capture stamp minus onboard stamp of the same instant at the recording's start (epochs included), growth per second */
  readonly clock: { readonly offset: Seconds; readonly skew: number };
  /** true slope of the vehicle's error in the hold window, m/s per axis; wander, where set, comes on top */
  readonly slope: Vector3;
  readonly cycleStart: Seconds;
  readonly period: Seconds;
  readonly cycles: number;
  /** how long the arm comes after its command, per arm axis alike: for slow motion, and at the cycle rate (phase over angular rate) */
  readonly armDelay: { readonly slow: Seconds; readonly atCycleRate: Seconds };
  /** apparent moving mass along the body's axes, kg: what moves times its travel over the tool's, less what is balanced */
  readonly apparentMass: Vector3;
  /** capture noise of body point and tool point, sd per axis, metres */
  readonly noise: { readonly vehicle: Vector3; readonly effector: Vector3 };
  /** response of the error to the arm alone: the twin's harmonics over the cycle window; null for a hold */
  readonly synchronous: Readonly<Record<Subject, Readonly<Record<Axis, HarmonicTruth>>>> | null;
  /** true errors without capture noise at the instants of the pose samples, before faults */
  readonly samples: { readonly time: Float64Array; readonly errors: SubjectErrors; readonly twin: SubjectErrors };
}

/** Puts together what is known, from the flight and its deterministic twin (the same run moved by its arm alone). */
function flightTruth(
  settings: FlightSettings,
  timeline: Timeline,
  flights: { readonly full: Motion; readonly twin: Motion },
  command: LoggedCommand,
  times: Float64Array,
): FlightTruth {
  const errors = trueErrors(settings, flights.full, command, times);
  const twin = trueErrors(settings, flights.twin, command, times);
  return {
    resolved: settings,
    timeline,
    clock: { offset: settings.clock.offset - Number(settings.clock.boot) / 1e9, skew: settings.clock.skew },
    slope: settings.drift.slope,
    cycleStart: timeline.cycleStart,
    period: timeline.period,
    cycles: timeline.cycles,
    armDelay: armDelay(settings, timeline),
    apparentMass: apparentMass(settings),
    noise: {
      vehicle: controlPointNoise(settings, "vehicle_pose"),
      effector: controlPointNoise(settings, "effector_pose"),
    },
    synchronous: timeline.cycles > 0 ? synchronous(twin, timeline, times) : null,
    samples: { time: times, errors, twin },
  };
}

function synchronous(twin: SubjectErrors, timeline: Timeline, times: Float64Array): FlightTruth["synchronous"] {
  const { cycleStart, period, cycles } = timeline;
  const window = { from: cycleStart, to: cycleStart + cycles * period, period };
  const fits = harmonicTruth(times, [...twin.vehicle, ...twin.effector, ...twin.arm], window);
  const of = (first: number): Record<Axis, HarmonicTruth> => ({
    x: fits[first]!,
    y: fits[first + 1]!,
    z: fits[first + 2]!,
  });
  return { vehicle: of(0), effector: of(3), arm: of(6) };
}

function armDelay(settings: FlightSettings, timeline: Timeline): FlightTruth["armDelay"] {
  const { servoFrequency, servoDamping, transportDelay } = settings.arm;
  const natural = 2 * Math.PI * servoFrequency;
  const slow = transportDelay + (2 * servoDamping) / natural;
  if (timeline.period === 0) return { slow, atCycleRate: slow };
  const rate = (2 * Math.PI) / timeline.period;
  const phase = Math.atan2(2 * servoDamping * natural * rate, natural * natural - rate * rate);
  return { slow, atCycleRate: transportDelay + phase / rate };
}

function apparentMass({ arm, balance }: FlightSettings): Vector3 {
  const whole = arm.movingMass * arm.massFraction;
  return [whole * (1 - balance[0]), whole * (1 - balance[1]), whole * (1 - balance[2])];
}
