/** Complex numbers as two columns of equal length. A vibration is re = cosine, im = -sine, or any convention kept throughout. */
export interface InfluenceColumn {
  readonly re: Float64Array;
  readonly im: Float64Array;
}

/**
 * Complex numbers from magnitudes and phases.
 *
 * @param phases  radians
 * @example influenceColumn([2], [Math.PI / 2]).im // => 2
 */
export function influenceColumn(magnitudes: readonly number[], phases: readonly number[]): InfluenceColumn {
  return {
    re: Float64Array.from(magnitudes, (size, i) => size * Math.cos(phases[i]!)),
    im: Float64Array.from(magnitudes, (size, i) => size * Math.sin(phases[i]!)),
  };
}
