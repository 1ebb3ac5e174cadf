import type { Excursion } from "./excursions.ts";
import type { Fault } from "./poseFaults.ts";

/**
 * Excursions in which two bodies changed places: one jumps to where the other was, at the same time.
 *
 * @param vehicle   excursions of the vehicle's pose, seconds on its clock
 * @param effector  excursions of the effector's pose, same clock
 * @param interval  the longer of the two median intervals, seconds
 * @returns faults of code `swap`; the stretches are those of the excursions, whose poses are left out already
 */
export function findSwaps(vehicle: readonly Excursion[], effector: readonly Excursion[], interval: number): Fault[] {
  const stretches: [number, number][] = [];
  let samples = 0;
  for (const a of vehicle) {
    for (const b of effector) {
      if (Math.abs(a.from - b.from) > 5 * interval) continue;
      const apart = distance(a.before, b.before);
      const near = distance(a.after, b.before) < 0.4 * apart && distance(b.after, a.before) < 0.4 * apart;
      if (!near) continue;
      stretches.push([Math.min(a.from, b.from), Math.max(a.to, b.to)]);
      samples += Math.max(1, Math.round((a.to - a.from) / interval) + 1);
    }
  }
  if (stretches.length === 0) return [];
  return [
    {
      code: "swap",
      samples,
      stretches,
      detail: "poses in which vehicle and effector changed places",
      hint: "the capture system took one body for the other: make their marker layouts differ; those poses were left out",
    },
  ];
}

function distance(a: readonly number[], b: readonly number[]): number {
  return Math.hypot(a[0]! - b[0]!, a[1]! - b[1]!, a[2]! - b[2]!);
}
