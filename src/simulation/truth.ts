import type { Axis, Subject } from "../foundation/signals.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import { controlPointNoise } from "./capture.ts";
import type { FlightSettings } from "./flightShape.ts";
import { type HarmonicTruth, harmonicTruth } from "./harmonicTruth.ts";
import type { Motion } from "./motion.ts";
import type { Timeline } from "./timeline.ts";
import { type LoggedCommand, type SubjectErrors, trueErrors } from "./trueErrors.ts";

/** What is known of a simulated flight. Times are seconds after `settings.start` on the onboard clock, which is the reference. */
export interface FlightTruth {
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
  /** capture noise of body point and tool point, sd per axis, metres */
  readonly noise: { readonly vehicle: Vector3; readonly effector: Vector3 };
  /** response of the error to the arm alone: the twin's harmonics over the cycle window; null for a hold */
  readonly synchronous: Readonly<Record<Subject, Readonly<Record<Axis, HarmonicTruth>>>> | null;
  /** true errors without capture noise at the instants of the pose samples, before faults */
  readonly samples: { readonly time: Float64Array; readonly errors: SubjectErrors; readonly twin: SubjectErrors };
}

/** Puts together what is known, from the flight and its deterministic twin (the same run moved by its arm alone). */
export function flightTruth(
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
