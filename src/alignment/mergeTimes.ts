import type { Window } from "../foundation/tracks.ts";

/** Two ascending columns of instants in one, each instant once; those outside the window left out. */
export function mergeTimes(a: Float64Array, b: Float64Array, [from, to]: Window): Float64Array {
  const merged = new Float64Array(a.length + b.length);
  let n = 0;
  let i = 0;
  let j = 0;
  let before = Number.NEGATIVE_INFINITY;
  while (i < a.length || j < b.length) {
    const t = j >= b.length || (i < a.length && a[i]! <= b[j]!) ? a[i++]! : b[j++]!;
    if (t <= before || t < from || t > to) continue;
    merged[n++] = t;
    before = t;
  }
  return merged.subarray(0, n);
}
