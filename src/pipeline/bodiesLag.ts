import type { AlignedRun } from "../alignment/alignRun.ts";
import { meanPlace } from "../alignment/clock/bodiesApart.ts";
import { pointOnBody } from "../alignment/frames.ts";
import type { PointTrack } from "../foundation/tracks.ts";
import { responseDelay } from "../metrics/responseDelay.ts";
import { mean } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** Lags are looked for up to this, seconds; a hover that moves by less than this shows none, metres. */
const farthest = 0.1;
const leastMotion = 1e-4;
/** A hover moves below some 1 Hz; seconds. */
const smoothing = 0.15;

/**
 * By how much the tool's stamps come after the vehicle's, by the motion that both make while the arm rests: the shift at which the
 * tool lies best where the vehicle carries it. Of one short hover it is good to some milliseconds; several runs tell more.
 *
 * @returns seconds; null without a hold, a tool or a measured attitude, or where the hover shows none
 */
export function bodiesLag({ hold, vehicle, bodies: { effector } }: AlignedRun): number | null {
  if (hold === null || vehicle === null || effector === undefined) return null;
  const place = meanPlace(vehicle, effector, hold);
  if (place === null) return null;
  // smoothed alike, which shifts neither: between two samples the noise of a straight line is less, and would draw the lag there
  const seen = smoothed(within(effector, hold));
  const carried = smoothed(within(pointOnBody(vehicle, place), [hold[0] - farthest, hold[1] + farthest]));
  return responseDelay(
    {
      t: seen.t,
      measured: [seen.x, seen.y, seen.z],
      commandTimes: carried.t,
      command: [carried.x, carried.y, carried.z],
    },
    { from: -farthest, to: farthest, rival: 0, leastMotion },
  );
}

function within({ t, x, y, z }: PointTrack, [from, to]: readonly [number, number]): PointTrack {
  const [a, b] = [lowerBound(t, from), lowerBound(t, to)];
  return { t: t.subarray(a, b), x: x.subarray(a, b), y: y.subarray(a, b), z: z.subarray(a, b) };
}

/** Centred moving means over about `smoothing`. */
function smoothed({ t, x, y, z }: PointTrack): PointTrack {
  const half = Math.round((0.5 * smoothing * (t.length - 1)) / (t.at(-1)! - t[0]!));
  const smooth = (column: Float64Array): Float64Array =>
    column.map((_, i) => {
      const side = Math.min(half, i, column.length - 1 - i);
      return mean(column.subarray(i - side, i + side + 1));
    });
  return t.length < 2 ? { t, x, y, z } : { t, x: smooth(x), y: smooth(y), z: smooth(z) };
}
