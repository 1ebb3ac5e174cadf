import type { PoseTrack } from "../foundation/tracks.ts";

/** Norm of the quaternion of sample i. */
export function quaternionNorm(track: PoseTrack, i: number): number {
  return Math.sqrt(track.qx[i]! ** 2 + track.qy[i]! ** 2 + track.qz[i]! ** 2 + track.qw[i]! ** 2);
}
