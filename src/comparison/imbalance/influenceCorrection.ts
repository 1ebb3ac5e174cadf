import { CounterpoiseError, TooFewSamplesError } from "../../foundation/errors.ts";
import { leastSquares } from "../../numeric/leastSquares.ts";
import type { InfluenceColumn } from "./influenceColumn.ts";

export interface InfluenceCorrection {
  /** one per influence given; `im` is 0 where weights are real */
  readonly weights: InfluenceColumn;
  /** vibration + sum of influence x weight: what is left at each place */
  readonly residual: InfluenceColumn;
}

/**
 * The weights that leave the least vibration, |vibration + sum of influence x weight|^2 over all places, by least squares.
 *
 * A real weight is one unknown (it can be made larger or smaller, not turned about); a complex one is two, its column and i
 * times its column. Where there are as many unknowns as equations the vibration is cancelled exactly.
 *
 * @param influence  one column per weight, complex, over the n places; see `influenceCoefficients`
 * @param vibration  at the n places, complex
 * @param kind       what the weights are
 * @throws TooFewSamplesError  more unknowns than equations (2 per place)
 * @throws NotFiniteError      NaN or infinity
 * @throws CounterpoiseError   code `unequal-lengths`; code `rank-deficient`: weights whose influences cannot be told apart
 * @source T. P. Goodman, A least-squares method for computing balance corrections, J. Eng. Ind. 86 (1964) 273-277
 * @example influenceCorrection([influenceColumn([2], [0])], influenceColumn([6], [Math.PI]), "real").weights.re // => 3
 */
export function influenceCorrection(
  influence: readonly InfluenceColumn[],
  vibration: InfluenceColumn,
  kind: "real" | "complex",
): InfluenceCorrection {
  const rows = 2 * vibration.re.length;
  const columns = influence.flatMap(({ re, im }) => {
    if (re.length !== im.length || 2 * re.length !== rows) {
      throw new CounterpoiseError(
        "unequal-lengths",
        `influenceCorrection requires ${vibration.re.length} complex numbers per weight, found ${re.length} and ${im.length}`,
      );
    }
    const turned = [im.map((value) => -value), re] as const;
    return kind === "real" ? [stacked(re, im)] : [stacked(re, im), stacked(...turned)];
  });
  if (columns.length > rows) throw new TooFewSamplesError("influenceCorrection", columns.length, rows);
  // a row of noughts asks for nothing: with it, as many unknowns as equations are a case like any other
  const padded = (column: Float64Array): Float64Array => {
    const longer = new Float64Array(rows + 1);
    longer.set(column);
    return longer;
  };
  const wanted = stacked(vibration.re, vibration.im).map((value) => -value);
  const { coefficients, residuals } = leastSquares(columns.map(padded), padded(wanted));
  const half = rows / 2;
  return {
    weights:
      kind === "real"
        ? { re: coefficients, im: new Float64Array(coefficients.length) }
        : { re: coefficients.filter((_, i) => i % 2 === 0), im: coefficients.filter((_, i) => i % 2 === 1) },
    residual: {
      re: residuals.slice(0, half).map((value) => -value),
      im: residuals.slice(half, rows).map((value) => -value),
    },
  };
}

function stacked(re: Float64Array, im: Float64Array): Float64Array {
  const column = new Float64Array(re.length + im.length);
  column.set(re);
  column.set(im, re.length);
  return column;
}
