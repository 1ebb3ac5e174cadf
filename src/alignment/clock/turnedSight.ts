import type { Quaternion } from "../../foundation/units.ts";
import { turnOfSums } from "../../numeric/turnOfSums.ts";
import { coarseStep, standardised } from "./coarseOffset.ts";
import type { RateGrid } from "./rateGrid.ts";

/** Two sights of one motion whose axes are turned against each other. */
export interface TurnedSight {
  /** 1: but for the turn the same motion throughout, whatever its scale */
  readonly agreement: number;
  /** the same with the axes as they are, at the same offset */
  readonly straight: number;
  /** of the turn, degrees */
  readonly angle: number;
  /** about which it is, unit vector */
  readonly axis: readonly [number, number, number];
}

/** A turn explains two sights where they agree by this much with it, and by this much less without. */
const explained = 0.8;
const better = 0.2;
/** Fewest grid points in common. */
const fewest = 100;
/** Every how many grid points two sights are compared. */
const stride = 4;

/**
 * Whether two sights of turning show one motion once the axes of the one are turned as a whole, as those of an autopilot that
 * is mounted askew: looked for at every offset within `search` of `near`, by the turn that suits each best.
 *
 * @returns null where none does, or the axes as they are do nearly as well
 */
export function turnedSight(that: RateGrid, reference: RateGrid, near: number, search: number): TurnedSight | null {
  const [a, b] = [standardised(reference), standardised(that)];
  const lags = Math.ceil(search / coarseStep);
  let best: TurnedSight | null = null;
  for (let lag = -lags; lag <= lags; lag++) {
    const apart = Math.round((reference.start + near + lag * coarseStep - that.start) / that.step);
    const found = turnAt(a, b, reference.known, that.known, apart);
    if (found !== null && found.agreement > (best?.agreement ?? 0)) best = found;
  }
  return best !== null && best.agreement > explained && best.agreement - best.straight > better ? best : null;
}

function turnAt(
  a: readonly Float64Array[],
  b: readonly Float64Array[],
  known: Uint8Array,
  thatKnown: Uint8Array,
  apart: number,
): TurnedSight | null {
  const cross = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  let [ofA, ofB, n] = [0, 0, 0];
  for (let i = Math.max(0, -apart); i < Math.min(known.length, thatKnown.length - apart); i += stride) {
    if (known[i] === 0 || thatKnown[i + apart] === 0) continue;
    n++;
    for (let p = 0; p < 3; p++) {
      const u = b[p]![i + apart]!;
      ofB += u * u;
      ofA += a[p]![i]! * a[p]![i]!;
      for (let q = 0; q < 3; q++) cross[3 * p + q]! += u * a[q]![i]!;
    }
  }
  const size = Math.sqrt(ofA * ofB);
  if (n < fewest || !(size > 0)) return null;
  const { rotation, sum } = turnOfSums(cross);
  return {
    agreement: sum / size,
    straight: (cross[0]! + cross[4]! + cross[8]!) / size,
    ...angleAndAxis(rotation),
  };
}

function angleAndAxis([x, y, z, w]: Quaternion): Pick<TurnedSight, "angle" | "axis"> {
  const sine = Math.hypot(x, y, z);
  return {
    angle: (360 / Math.PI) * Math.atan2(sine, w),
    axis: sine > 0 ? [x / sine, y / sine, z / sine] : [0, 0, 1],
  };
}

/** "90 degrees about (0.00, 0.00, 1.00)". */
export function turnText({ angle, axis }: TurnedSight): string {
  return `${angle.toFixed(0)} degrees about (${axis.map((value) => value.toFixed(2)).join(", ")})`;
}
