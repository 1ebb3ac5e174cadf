import type { Seconds } from "../foundation/units.ts";
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
export function periodOf(trajectory: FlownTrajectory): Seconds {
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
