/**
 * Labels that several points of a file bear, with the numbers of these points, counted from 1 as the format counts them.
 *
 * The format does not forbid it, and writers that cut labels short do it: such a label says nothing about which point is
 * meant.
 */
export function repeatedLabels(labels: readonly string[]): ReadonlyMap<string, readonly number[]> {
  const places = new Map<string, number[]>();
  labels.forEach((label, k) => {
    const known = places.get(label);
    if (known === undefined) places.set(label, [k + 1]);
    else known.push(k + 1);
  });
  return new Map([...places].filter(([, numbers]) => numbers.length > 1));
}
