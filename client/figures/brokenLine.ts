const at = (x: number, y: number): string => `${x.toFixed(2)},${y.toFixed(2)}`;

/**
 * Path data of points some of which are missing: a missing one ends the line and the next begins another, nothing is
 * drawn across. A point with none beside it becomes a line of no length, which round caps show as a dot.
 *
 * @param points  pixels; null where there is none
 */
export function brokenLine(points: readonly (readonly [number, number] | null)[]): string {
  let path = "";
  let length = 0;
  for (const point of points) {
    if (point === null) {
      if (length === 1) path += "h0";
      length = 0;
      continue;
    }
    path += `${length === 0 ? "M" : "L"}${at(point[0], point[1])}`;
    length++;
  }
  return length === 1 ? `${path}h0` : path;
}
