import type { RigidTransform } from "../contract/campaign.ts";
import type { PointTrack, PoseTrack } from "../foundation/tracks.ts";
import type { Quaternion, Vector3 } from "../foundation/units.ts";
import { multiplyQuaternions, rotateVector } from "../numeric/quaternion.ts";

/** Turns a y-up world into a z-up one: x stays, y becomes z, z becomes -y. Determinant +1. */
export const fromYUp: Quaternion = [Math.SQRT1_2, 0, 0, Math.SQRT1_2];

/**
 * A fixed point of a moving body in the world: p + R(q) r.
 *
 * @param r  metres, in the body's own frame
 */
export function pointOnBody(pose: PoseTrack, r: Vector3): PointTrack {
  const n = pose.t.length;
  if (r[0] === 0 && r[1] === 0 && r[2] === 0) return pose;
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  const z = new Float64Array(n);
  const [rx, ry, rz] = r;
  for (let i = 0; i < n; i++) {
    const a = pose.qx[i]!;
    const b = pose.qy[i]!;
    const c = pose.qz[i]!;
    const d = pose.qw[i]!;
    // r + 2 w (u x r) + 2 u x (u x r), written out: this runs once a sample
    const tx = 2 * (b * rz - c * ry);
    const ty = 2 * (c * rx - a * rz);
    const tz = 2 * (a * ry - b * rx);
    x[i] = pose.x[i]! + rx + d * tx + (b * tz - c * ty);
    y[i] = pose.y[i]! + ry + d * ty + (c * tx - a * tz);
    z[i] = pose.z[i]! + rz + d * tz + (a * ty - b * tx);
  }
  return { t: pose.t, x, y, z };
}

/** A pose track with its control point moved to `r` of the body; the attitude stays. */
export function withControlPoint(pose: PoseTrack, r: Vector3): PoseTrack {
  return { ...pose, ...pointOnBody(pose, r) };
}

/**
 * A pose track seen from a parent frame: T o pose. Continuous signs stay continuous.
 *
 * @param transform  the track's frame in the parent frame
 */
export function transformPoses<T extends PoseTrack>(track: T, transform: RigidTransform): T {
  const [tx, ty, tz] = transform.translation;
  const q = transform.rotation;
  const same = q[0] === 0 && q[1] === 0 && q[2] === 0;
  if (same && tx === 0 && ty === 0 && tz === 0) return track;
  const n = track.t.length;
  const make = (): Float64Array => new Float64Array(n);
  const out = { x: make(), y: make(), z: make(), qx: make(), qy: make(), qz: make(), qw: make() };
  for (let i = 0; i < n; i++) {
    const p = rotateVector(q, [track.x[i]!, track.y[i]!, track.z[i]!]);
    out.x[i] = p[0] + tx;
    out.y[i] = p[1] + ty;
    out.z[i] = p[2] + tz;
    const turned = multiplyQuaternions(q, [track.qx[i]!, track.qy[i]!, track.qz[i]!, track.qw[i]!]);
    out.qx[i] = turned[0];
    out.qy[i] = turned[1];
    out.qz[i] = turned[2];
    out.qw[i] = turned[3];
  }
  return { ...track, ...out };
}

/** Renames the axes of a body that was defined in a y-up world, so that its own up is z as well: q o turn^-1. */
export function turnBodyAxes(track: PoseTrack): PoseTrack {
  const back: Quaternion = [-fromYUp[0], -fromYUp[1], -fromYUp[2], fromYUp[3]];
  const n = track.t.length;
  const make = (): Float64Array => new Float64Array(n);
  const out = { qx: make(), qy: make(), qz: make(), qw: make() };
  for (let i = 0; i < n; i++) {
    const turned = multiplyQuaternions([track.qx[i]!, track.qy[i]!, track.qz[i]!, track.qw[i]!], back);
    out.qx[i] = turned[0];
    out.qy[i] = turned[1];
    out.qz[i] = turned[2];
    out.qw[i] = turned[3];
  }
  return { ...track, ...out };
}

/**
 * Mean direction of the world's up seen from the body, over the whole track: (0, 0, 1) for a level vehicle with z up.
 *
 * @returns x, y, z of the mean unit vector, not renormalised: its length tells how steady the attitude is
 */
export function meanUpInBody(track: PoseTrack): Vector3 {
  let x = 0;
  let y = 0;
  let z = 0;
  const n = track.t.length;
  const { qx, qy, qz, qw } = track;
  for (let i = 0; i < n; i++) {
    const a = qx[i]!;
    const b = qy[i]!;
    const c = qz[i]!;
    const d = qw[i]!;
    // third row of the rotation matrix
    x += 2 * (a * c - d * b);
    y += 2 * (b * c + d * a);
    z += 1 - 2 * (a * a + b * b);
  }
  return n === 0 ? [0, 0, 0] : [x / n, y / n, z / n];
}
