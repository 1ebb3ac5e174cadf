import type { AlignedRun } from "../alignment/alignRun.ts";
import { type Axis, axes } from "../foundation/tracks.ts";
import { flightNoise } from "../metrics/measurementNoise.ts";

export const bodies = ["vehicle", "effector"] as const;
export type Body = (typeof bodies)[number];
/** What is faster than the vehicle moves, sd per axis, metres; null where there are too few poses. */
export type FastMotion = Readonly<Record<Body, Readonly<Record<Axis, number>> | null>>;

/** The time over which it is taken: third differences 30 ms apart pass what shakes at 8 Hz and above, and hardly what flies (2 Hz: 1 %). */
const apart = 0.03;

/** What shakes in a run faster than it can fly: the capture's noise, and markers that are loose. */
export function fastMotion(run: AlignedRun): FastMotion {
  const of = (body: Body): FastMotion[Body] => {
    const [track, interval] = [run.bodies[body], run.intervals[body]];
    if (!track || interval === undefined) return null;
    const every = Math.max(1, Math.round(apart / interval));
    const thinned = (column: Float64Array): Float64Array => column.filter((_, i) => i % every === 0);
    const t = thinned(track.t);
    const found = axes.map((axis) => flightNoise(t, thinned(track[axis]), every * interval)?.sd ?? null);
    const [x, y, z] = found;
    return x == null || y == null || z == null ? null : { x, y, z };
  };
  return { vehicle: of("vehicle"), effector: of("effector") };
}
