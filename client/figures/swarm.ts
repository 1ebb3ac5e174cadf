/**
 * Offsets that keep points on a line from hiding each other: each takes the smallest offset at which it touches none placed
 * before it. Where there is no room within `most`, it overlaps.
 *
 * @param at    positions along the line, pixels
 * @param size  least distance of two points, pixels
 * @param most  furthest offset across the line, pixels
 * @returns offsets across the line, in the order of `at`
 */
export function swarm(at: readonly number[], size: number, most: number): number[] {
  const placed: { x: number; y: number }[] = [];
  const offsets = new Array<number>(at.length).fill(0);
  const order = [...at.keys()].sort((a, b) => at[a]! - at[b]!);
  const steps = [0];
  for (let step = size / 3; step <= most; step += size / 3) steps.push(step, -step);
  for (const k of order) {
    const x = at[k]!;
    const y = steps.find((step) => placed.every((other) => Math.hypot(other.x - x, other.y - step) >= size)) ?? 0;
    offsets[k] = y;
    placed.push({ x, y });
  }
  return offsets;
}
