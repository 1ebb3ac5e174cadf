/**
 * Names ordered by likeness to what was written, so a message can say what was probably meant.
 *
 * Likeness is the edit distance without regard to case (insertions, deletions, replacements and swaps of
 * neighbours count 1 each); names of equal distance keep the order in which they were given.
 *
 * @param wanted     the name found
 * @param available  the names there are
 * @param limit      at most this many are returned; default all
 * @returns the names, nearest first, however far away they are
 * @example nearestNames("/mocap/airfame", ["/imu", "/mocap/airframe"], 1) // => ["/mocap/airframe"]
 */
export function nearestNames(wanted: string, available: readonly string[], limit = available.length): string[] {
  return available
    .map((name, order) => ({ name, order, distance: editDistance(wanted, name) }))
    .sort((a, b) => a.distance - b.distance || a.order - b.order)
    .slice(0, limit)
    .map(({ name }) => name);
}

/**
 * The one name near enough to be worth suggesting: a third of the letters may differ (rounded up), but not all of them.
 *
 * @returns null where nothing is near
 * @example likelyName("configuraton", ["configuration", "trajectory"]) // => "configuration"
 */
export function likelyName(wanted: string, available: readonly string[]): string | null {
  const name = nearestNames(wanted, available, 1)[0];
  if (name === undefined) return null;
  const length = Math.max(name.length, Math.min(wanted.length, maxLength));
  return editDistance(wanted, name) <= Math.min(Math.ceil(length / 3), length - 1) ? name : null;
}

/** Names are compared up to here: a name of a megabyte must not cost a megabyte squared. */
const maxLength = 120;

/**
 * Edits between two names without regard to case: insertion, deletion, replacement, swap of neighbours.
 *
 * Compares the first 120 characters. Cost: product of the lengths.
 *
 * @source G. Navarro, ACM Computing Surveys 33 (2001) 31-88, section 5.1 (dynamic programming), with swaps (optimal string alignment)
 * @example editDistance("raidus", "radius") // => 1
 */
export function editDistance(a: string, b: string): number {
  const from = a.slice(0, maxLength).toLowerCase();
  const to = b.slice(0, maxLength).toLowerCase();
  let before: number[] = [];
  let above = Array.from({ length: to.length + 1 }, (_, j) => j);
  for (let i = 1; i <= from.length; i++) {
    const row = [i];
    for (let j = 1; j <= to.length; j++) {
      const same = from[i - 1] === to[j - 1];
      let best = Math.min(row[j - 1]! + 1, above[j]! + 1, above[j - 1]! + (same ? 0 : 1));
      const swapped = i > 1 && j > 1 && from[i - 1] === to[j - 2] && from[i - 2] === to[j - 1];
      if (swapped) best = Math.min(best, before[j - 2]! + 1);
      row.push(best);
    }
    before = above;
    above = row;
  }
  return above[to.length]!;
}
