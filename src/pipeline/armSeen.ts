import type { AlignedRun } from "../alignment/alignRun.ts";
import { meanPlace } from "../alignment/clock/bodiesApart.ts";
import { samplePoints } from "../alignment/sampleTrack.ts";
import { mean } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";

/** How large the capture shows an arm, of which a length is rigid and a path was commanded. */
export interface ArmSeen {
  /** from the vehicle's markers to the tool's while the arm rests, metres */
  readonly reach: number;
  /** size (rms about the mean) of the arm's measured path over that of its command */
  readonly gain: number;
}

/** An arm commanded to move by less than this (rms) has no size to compare, metres. */
const leastMotion = 0.005;

/**
 * Both in the vehicle's own frame, where neither its motion nor its tilt enters: those the counterweights change.
 *
 * @returns null without a hold, a tool, a measured attitude, or an arm that is commanded to move
 */
export function armSeen({ hold, cycles, vehicle, bodies, subjects: { arm } }: AlignedRun): ArmSeen | null {
  if (hold === null || vehicle === null || !bodies.effector || !arm || cycles.length === 0) return null;
  const place = meanPlace(vehicle, bodies.effector, hold);
  if (place === null) return null;
  const [a, b] = [lowerBound(arm.t, cycles[0]![0]), lowerBound(arm.t, cycles.at(-1)![1])];
  const asked = samplePoints(arm.command, arm.t.subarray(a, b));
  const { x, y, z } = arm.measured;
  const commanded = sizeOf([asked.x, asked.y, asked.z]);
  if (!(commanded > leastMotion)) return null;
  return {
    reach: Math.hypot(...place),
    gain: sizeOf([x, y, z].map((column) => column.subarray(a, b))) / commanded,
  };
}

/** Root of the mean squared distance of points from their mean place, metres. */
function sizeOf(columns: readonly Float64Array[]): number {
  const squares = columns.map((column) => {
    const known = column.filter(Number.isFinite);
    const centre = mean(known);
    return known.reduce((sum, value) => sum + (value - centre) ** 2, 0) / known.length;
  });
  return Math.sqrt(squares.reduce((sum, one) => sum + one, 0));
}
