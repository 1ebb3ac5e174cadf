import type { AlignedRun } from "../alignment/alignRun.ts";
import { meanPlace } from "../alignment/clock/bodiesApart.ts";
import { pointOnBody } from "../alignment/frames.ts";
import { type Points, sampleAttitudes, samplePoints } from "../alignment/sampleTrack.ts";
import { type Axis, axes, type PointTrack, type PoseTrack } from "../foundation/tracks.ts";
import { flightNoise } from "../metrics/measurementNoise.ts";
import { mean } from "../numeric/descriptive.ts";

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

/** Lag of the second differences, seconds: 1.9 times a shake at 4 Hz, 4 times one at 8 Hz, 0.14 times a sway at 1 Hz. */
const lag = 0.06;
const gravity = 9.81;

/**
 * What shakes while the arm rests, at rates at which a vehicle could move too, and is not its motion, sd per axis, metres.
 *
 * The vehicle: a multirotor moves sideways by tilting, so that a second difference of its place is the lag squared times
 * gravity times its tilt (mean over the lag by Numerov's weights 1, 10, 1); what its markers do beyond that no thrust has done. Up and
 * down the tilt tells nothing: 0. The tool: its place beside the point of the vehicle that carries it. Both as white noise would be.
 */
export function restingShake({ hold, vehicle, bodies }: AlignedRun): FastMotion {
  if (hold === null || vehicle === null) return { vehicle: null, effector: null };
  const t = vehicle.t.filter((at) => at - lag >= hold[0] && at + lag <= hold[1]);
  const place = bodies.effector ? meanPlace(vehicle, bodies.effector, hold) : null;
  const jolts = secondDifferences(vehicle, t);
  const tilts = tiltOver(vehicle, t);
  const beside = (of: (k: number) => number): number => sdOf(t, of);
  return {
    vehicle: withBoth({
      x: beside((k) => jolts.x[k]! - gravity * lag * lag * tilts.x[k]!),
      y: beside((k) => jolts.y[k]! - gravity * lag * lag * tilts.y[k]!),
      z: 0,
    }),
    effector: place && shakeBeside(bodies.effector!, pointOnBody(vehicle, place), t),
  };
}

function shakeBeside(tool: PointTrack, carried: PointTrack, t: Float64Array): FastMotion[Body] {
  const [own, vehicles] = [secondDifferences(tool, t), secondDifferences(carried, t)];
  const [x, y, z] = axes.map((axis) => sdOf(t, (k) => own[axis][k]! - vehicles[axis][k]!)) as [number, number, number];
  return withBoth({ x, y, z });
}

const withBoth = (sd: Record<Axis, number>): FastMotion[Body] =>
  axes.every((axis) => Number.isFinite(sd[axis])) ? sd : null;

/** Root of the mean square about the mean over 6, which for white noise is its sd; NaN for fewer than a hundred instants. */
function sdOf(t: Float64Array, of: (k: number) => number): number {
  const known = Float64Array.from(t, (_, k) => of(k)).filter(Number.isFinite);
  if (known.length < 100) return Number.NaN;
  // a body whose axes lean tilts for good, and does not shake
  const middle = mean(known);
  return Math.sqrt(known.reduce((sum, value) => sum + (value - middle) ** 2, 0) / (6 * known.length));
}

function secondDifferences(track: PointTrack, t: Float64Array): Points {
  const [before, now, after] = [-lag, 0, lag].map((shift) =>
    samplePoints(
      track,
      t.map((at) => at + shift),
    ),
  );
  const of = (axis: Axis): Float64Array =>
    now![axis].map((value, k) => before![axis][k]! - 2 * value + after![axis][k]!);
  return { x: of("x"), y: of("y"), z: of("z") };
}

/** Where the vehicle's up axis leans, along x and y, averaged over the lag. */
function tiltOver(vehicle: PoseTrack, t: Float64Array): { readonly x: Float64Array; readonly y: Float64Array } {
  const parts = [-lag, 0, lag].map((shift) =>
    sampleAttitudes(
      vehicle,
      t.map((at) => at + shift),
    ),
  );
  const weights = [1 / 12, 10 / 12, 1 / 12];
  const over = (of: (part: (typeof parts)[number], k: number) => number): Float64Array =>
    t.map((_, k) => parts.reduce((sum, part, i) => sum + weights[i]! * of(part, k), 0));
  return {
    x: over(({ qx, qy, qz, qw }, k) => 2 * (qx[k]! * qz[k]! + qw[k]! * qy[k]!)),
    y: over(({ qx, qy, qz, qw }, k) => 2 * (qy[k]! * qz[k]! - qw[k]! * qx[k]!)),
  };
}
