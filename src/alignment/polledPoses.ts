import type { PoseTrack } from "../foundation/tracks.ts";
import { gatherBy } from "../numeric/gather.ts";

/** A track of which every pose stood several times in the log, each kept once. */
export interface PolledPoses {
  readonly track: PoseTrack;
  /** how often a pose stood in the log, median */
  readonly typical: number;
  /** copies left out */
  readonly dropped: number;
}

/** Fewer different poses than this are no stream. */
const fewestPoses = 50;

/**
 * Recognises a log that is filled faster than the capture delivers: most poses stand in it twice or more, with stamps of
 * their own. Only the first of each was new; its copies are no measurements, and no sign of a lost body either.
 *
 * @param raw  poses sorted by time
 * @returns null where most poses stand once
 */
export function polledPoses(raw: PoseTrack): PolledPoses | null {
  const n = raw.t.length;
  const first = new Uint32Array(n);
  let count = 0;
  for (let i = 0; i < n; i++) if (i === 0 || !isSame(raw, i, i - 1)) first[count++] = i;
  // most poses stand twice: then there are at most two thirds as many different ones
  if (count < fewestPoses || 3 * count > 2 * n) return null;
  const lengths = new Uint32Array(count);
  for (let k = 0; k < count; k++) lengths[k] = (k + 1 < count ? first[k + 1]! : n) - first[k]!;
  lengths.sort();
  const typical = lengths[count >> 1]!;
  if (typical < 2) return null;
  const take = gatherBy(first, count);
  const { t, x, y, z, qx, qy, qz, qw } = raw;
  return {
    track: {
      t: take(t),
      x: take(x),
      y: take(y),
      z: take(z),
      qx: take(qx),
      qy: take(qy),
      qz: take(qz),
      qw: take(qw),
    },
    typical,
    dropped: n - count,
  };
}

function isSame(raw: PoseTrack, i: number, j: number): boolean {
  return (
    raw.x[i] === raw.x[j] &&
    raw.y[i] === raw.y[j] &&
    raw.z[i] === raw.z[j] &&
    raw.qx[i] === raw.qx[j] &&
    raw.qy[i] === raw.qy[j] &&
    raw.qz[i] === raw.qz[j] &&
    raw.qw[i] === raw.qw[j]
  );
}
