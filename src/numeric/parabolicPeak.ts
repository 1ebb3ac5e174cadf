import { CounterpoiseError, NotFiniteError } from "../foundation/errors.ts";

/**
 * Where the parabola through three equally spaced points has its extremum, as a fraction of the spacing from the centre.
 *
 * Biased: on a cosine of w radians per spacing with its peak at d it gives 0.5 tan(w d) / tan(w / 2), right only as
 * w goes to 0 (and at d = 0). Good to find a minimum's neighbourhood; not the last word on a delay.
 *
 * @param left    value at -1
 * @param centre  value at 0, at least as high as both neighbours (or at least as low as both)
 * @param right   value at +1
 * @returns -0.5 to 0.5
 * @throws NotFiniteError     a value is NaN or infinite
 * @throws CounterpoiseError  code `no-peak`: the centre is no extremum, or all three are alike
 * @example parabolicPeak(0, 3, 2) // => 0.25
 */
export function parabolicPeak(left: number, centre: number, right: number): number {
  const values = [left, centre, right];
  const index = values.findIndex((value) => !Number.isFinite(value));
  if (index >= 0) throw new NotFiniteError("parabolicPeak", index, values[index]!);
  const rise = centre - left;
  const fall = centre - right;
  if (rise * fall < 0 || (rise === 0 && fall === 0)) {
    throw new CounterpoiseError(
      "no-peak",
      `parabolicPeak requires a centre above or below both neighbours, found ${left}, ${centre}, ${right}`,
    );
  }
  return (0.5 * (rise - fall)) / (rise + fall);
}
