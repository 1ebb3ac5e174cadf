import type { StampColumn } from "../foundation/recording.ts";
import type { Nanoseconds, Seconds } from "../foundation/units.ts";
import type { SeededRandom } from "../numeric/seededRandom.ts";
import type { FlightSettings, FlownTrajectory } from "./flightShape.ts";

/** When what happens, seconds after the recording's start on the onboard clock. */
export interface Timeline {
  /** the climb; both 0 where the recording starts in hover */
  readonly climb: readonly [Seconds, Seconds];
  /** command and setpoint stand still */
  readonly hold: readonly [Seconds, Seconds];
  /** the arm starts to move (ramp-in included) */
  readonly motionStart: Seconds;
  /** theta = 0: first cycle of full amplitude */
  readonly cycleStart: Seconds;
  /** 0 where the trajectory is a hold */
  readonly period: Seconds;
  readonly cycles: number;
  readonly motionEnd: Seconds;
  readonly end: Seconds;
}

const onGround = 4;
const climbing = 4;

/** Period of one cycle; 0 for a hold. */
function periodOf(trajectory: FlownTrajectory): Seconds {
  if (trajectory.shape === "circle") return (2 * Math.PI * trajectory.radius) / trajectory.speed;
  return trajectory.shape === "line" ? trajectory.period : 0;
}

/** The timeline that the settings ask for. */
export function timelineOf(settings: FlightSettings): Timeline {
  const { timeline, trajectory } = settings;
  const climb: [number, number] = timeline.takeOff ? [onGround, onGround + climbing] : [0, 0];
  const motionStart = climb[1] + timeline.hold + timeline.pause;
  const period = periodOf(trajectory);
  if (trajectory.shape === "hold") {
    const end = climb[1] + trajectory.duration;
    return { climb, hold: [climb[1], end], motionStart: end, cycleStart: end, period, cycles: 0, motionEnd: end, end };
  }
  const cycleStart = motionStart + trajectory.rampIn * period;
  const motionEnd = cycleStart + trajectory.cycles * period;
  return {
    climb,
    hold: [climb[1], motionStart],
    motionStart,
    cycleStart,
    period,
    cycles: trajectory.cycles,
    motionEnd,
    end: motionEnd + timeline.rest,
  };
}

/** Stamps of the onboard clock, which is the reference and runs true, to the nanosecond. */
export function onboardStamps(start: Nanoseconds, times: Float64Array): StampColumn {
  return { epoch: start, seconds: times.map(toNanosecond) };
}

/**
 * Stamps of the capture clock: at instant t (seconds after the recording's start, onboard clock) it shows
 * start + t + offset + skew t - boot. Whole seconds of the offset go into the epoch.
 */
export function captureStamps(settings: FlightSettings, times: Float64Array): StampColumn {
  const { offset, skew, boot } = settings.clock;
  const whole = Math.floor(offset);
  return {
    epoch: settings.start + BigInt(whole) * 1_000_000_000n - boot,
    seconds: times.map((t) => toNanosecond(t + (offset - whole) + skew * t)),
  };
}

/**
 * Receipt times on the onboard clock: instant + latency + an exponential jitter; a topic's messages keep their order,
 * as they do in one queue.
 */
export function receiptTimes(
  times: Float64Array,
  latency: Seconds,
  jitter: Seconds,
  random: SeededRandom,
): Float64Array {
  let latest = Number.NEGATIVE_INFINITY;
  return times.map((t) => {
    latest = Math.max(latest + 1e-6, t + latency - jitter * Math.log(1 - random.uniform()));
    return toNanosecond(latest);
  });
}

/** Instants of a periodic source over [0, end): k / rate after a random first one. */
export function samplingTimes(rate: number, end: Seconds, random: SeededRandom): Float64Array {
  const first = random.uniform() / rate;
  return Float64Array.from({ length: Math.max(0, Math.ceil((end - first) * rate)) }, (_, k) => first + k / rate);
}

function toNanosecond(seconds: number): number {
  return Math.round(seconds * 1e9) / 1e9;
}
