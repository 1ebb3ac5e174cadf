import type { Quaternion, Seconds, Vector3 } from "../foundation/units.ts";
import { type SeededRandom, seededRandom } from "../numeric/seededRandom.ts";
import type { FlownTrajectory } from "./flightShape.ts";
import type { Timeline } from "./timeline.ts";

/**
 * Quaternion (x y z w, body to parent) of roll, pitch, yaw, intrinsic z-y'-x''.
 *
 * @source J. Diebel, Representing Attitude (2006), eq. 290, here with the scalar last
 */
export function quaternionOfAngles(roll: number, pitch: number, yaw: number): Quaternion {
  const cr = Math.cos(roll / 2);
  const sr = Math.sin(roll / 2);
  const cp = Math.cos(pitch / 2);
  const sp = Math.sin(pitch / 2);
  const cy = Math.cos(yaw / 2);
  const sy = Math.sin(yaw / 2);
  return [
    sr * cp * cy - cr * sp * sy,
    cr * sp * cy + sr * cp * sy,
    cr * cp * sy - sr * sp * cy,
    cr * cp * cy + sr * sp * sy,
  ];
}

/** a then seen from the parent of b: rotation b followed by a, Hamilton product a b. */
export function turnedBy(a: Quaternion, b: Quaternion): Quaternion {
  const [ax, ay, az, aw] = a;
  const [bx, by, bz, bw] = b;
  return [
    aw * bx + ax * bw + ay * bz - az * by,
    aw * by - ax * bz + ay * bw + az * bx,
    aw * bz + ax * by - ay * bx + az * bw,
    aw * bw - ax * bx - ay * by - az * bz,
  ];
}

/** The vector seen in the parent frame. */
export function turn(q: Quaternion, v: Vector3): Vector3 {
  const [x, y, z, w] = q;
  const tx = 2 * (y * v[2] - z * v[1]);
  const ty = 2 * (z * v[0] - x * v[2]);
  const tz = 2 * (x * v[1] - y * v[0]);
  return [v[0] + w * tx + y * tz - z * ty, v[1] + w * ty + z * tx - x * tz, v[2] + w * tz + x * ty - y * tx];
}

export function inverse(q: Quaternion): Quaternion {
  return [-q[0], -q[1], -q[2], q[3]];
}

/** Quaternion of a rotation vector, radians. */
export function quaternionOfVector(v: Vector3): Quaternion {
  const angle = Math.hypot(v[0], v[1], v[2]);
  const factor = angle < 1e-9 ? 0.5 : Math.sin(angle / 2) / angle;
  return [v[0] * factor, v[1] * factor, v[2] * factor, Math.cos(angle / 2)];
}

/**
 * Body rate of angles that change: roll, pitch and their rates with the yaw rate.
 *
 * @source J. Diebel, Representing Attitude (2006), sec. 5.6.4 (Euler angle rates to body rates)
 */
export function bodyRate(roll: number, pitch: number, rollRate: number, pitchRate: number, yawRate: number): Vector3 {
  const cr = Math.cos(roll);
  const sr = Math.sin(roll);
  const cp = Math.cos(pitch);
  return [
    rollRate - yawRate * Math.sin(pitch),
    pitchRate * cr + yawRate * sr * cp,
    -pitchRate * sr + yawRate * cr * cp,
  ];
}

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

/**
 * A stream of its own for each purpose of one flight, so that switching one source of chance off leaves the others as they were.
 *
 * @source the name is hashed by FNV-1a (Fowler, Noll, Vo), 32 bits
 */
export function randomStream(seed: number, purpose: string): SeededRandom {
  let hash = 0x811c9dc5;
  for (const character of `${seed}/${purpose}`) hash = Math.imul(hash ^ character.charCodeAt(0), 0x01000193);
  return seededRandom(hash >>> 0);
}
