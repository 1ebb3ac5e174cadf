import type { Metres } from "../foundation/units.ts";
import { compensatedSum } from "../numeric/compensatedSum.ts";
import { requireFinite } from "../numeric/requireFinite.ts";

/**
 * Measurement noise of one axis by successive differences: what is left of a reading when
 * everything slower than the sampling is ignored.
 *
 *   sqrt( sum over i of (x[i+1] - x[i])^2 / (2 (n - 1)) )
 *
 * Slow drift hardly enters it, so it is smaller than the standard deviation when the stand creeps
 * and larger when neighbouring samples are anti-correlated. Equal to the Allan deviation at m = 1.
 * Not for a track that was filtered or interpolated: neighbours are then alike and it reads too low.
 *
 * @param position  n >= 2 readings of one axis, metres, equally spaced, no gaps
 * @returns metres, >= 0
 * @throws TooFewSamplesError  n < 2
 * @throws NotFiniteError      NaN or infinity at index i; hint: split the track at its gaps first
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395; W. J. Riley, NIST SP 1065 (2008), sec. 5
 * @example successiveDifferenceNoise(Float64Array.of(0, 1, 0, 1)) // => 0.7071067811865476
 */
export function successiveDifferenceNoise(position: Float64Array): Metres {
  requireFinite("successiveDifferenceNoise", position, 2);
  const squares = new Float64Array(position.length - 1);
  for (let i = 0; i < squares.length; i++) squares[i] = (position[i + 1]! - position[i]!) ** 2;
  return Math.sqrt(compensatedSum(squares) / (2 * squares.length));
}
