/**
 * Place of the minimum of a function with one valley, by golden sections.
 *
 * @param cost       the function
 * @param from       left end of the bracket
 * @param to         right end of the bracket
 * @param tolerance  width of the bracket at which to stop
 * @source J. Kiefer, Proc. Am. Math. Soc. 4 (1953) 502-506
 * @example goldenMinimum((x) => (x - 2) ** 2, 0, 5, 1e-9) // => 2
 */
export function goldenMinimum(cost: (x: number) => number, from: number, to: number, tolerance: number): number {
  const ratio = (Math.sqrt(5) - 1) / 2;
  let a = from;
  let b = to;
  let c = b - ratio * (b - a);
  let d = a + ratio * (b - a);
  let fc = cost(c);
  let fd = cost(d);
  while (b - a > tolerance) {
    if (fc < fd) {
      b = d;
      d = c;
      fd = fc;
      c = b - ratio * (b - a);
      fc = cost(c);
    } else {
      a = c;
      c = d;
      fc = fd;
      d = a + ratio * (b - a);
      fd = cost(d);
    }
  }
  return 0.5 * (a + b);
}
