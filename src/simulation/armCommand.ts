import type { Seconds, Vector3 } from "../foundation/units.ts";
import type { FlownTrajectory } from "./flightShape.ts";
import type { Timeline } from "./timeline.ts";

/**
 * Commanded tool point in the arm-base frame, metres.
 *
 * Circle: about `rest`, first axis of the plane cos theta, second sin theta; it waits at theta = 0 unless it ramps in, then at the
 * centre. Line: raised cosine from `rest` to `rest` + stroke and back. Before and after the motion the command stands still.
 */
export function armCommand(trajectory: FlownTrajectory, rest: Vector3, timeline: Timeline, time: Seconds): Vector3 {
  if (trajectory.shape === "hold") return rest;
  const { motionStart, motionEnd, cycleStart, period } = timeline;
  const t = Math.min(Math.max(time, motionStart), motionEnd);
  const theta = (2 * Math.PI * (t - cycleStart)) / period;
  const ramp = cycleStart - motionStart;
  const amplitude = ramp > 0 ? Math.min(1, (t - motionStart) / ramp) : 1;
  const point: [number, number, number] = [rest[0], rest[1], rest[2]];
  if (trajectory.shape === "line") {
    point["xyz".indexOf(trajectory.axis)]! += (amplitude * trajectory.stroke * (1 - Math.cos(theta))) / 2;
    return point;
  }
  point["xyz".indexOf(trajectory.plane[0]!)]! += amplitude * trajectory.radius * Math.cos(theta);
  point["xyz".indexOf(trajectory.plane[1]!)]! += amplitude * trajectory.radius * Math.sin(theta);
  return point;
}
