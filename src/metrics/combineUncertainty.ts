/**
 * Uncertainty of a result from those of its inputs: all at their worst at once, and in quadrature.
 *
 * @param sensitivities  change of the result per unit of each input
 * @param uncertainties  of the inputs, at least 0
 * @source JCGM 100:2008 (GUM), 5.1.2 (quadrature, inputs that do not correlate) and note 1 to 5.2.2 (worst case)
 * @example combineUncertainty([1, 1], [3, 4]) // => { worst: 7, quadrature: 5 }
 */
export function combineUncertainty(
  sensitivities: ArrayLike<number>,
  uncertainties: ArrayLike<number>,
): { worst: number; quadrature: number } {
  let worst = 0;
  let squares = 0;
  for (let k = 0; k < sensitivities.length; k++) {
    const part = Math.abs(sensitivities[k]! * uncertainties[k]!);
    worst += part;
    squares += part * part;
  }
  return { worst, quadrature: Math.sqrt(squares) };
}
