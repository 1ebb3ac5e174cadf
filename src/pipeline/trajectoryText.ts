import type { Trajectory } from "../contract/campaign.ts";

/** A declared trajectory in words, millimetres and seconds. */
export function describeTrajectory(trajectory: Trajectory): string {
  const mm = (metres: number): string => `${Number((1e3 * metres).toFixed(2))} mm`;
  switch (trajectory.shape) {
    case "circle":
      return `circle in ${trajectory.plane}, radius ${mm(trajectory.radius)}, period ${trajectory.period.toFixed(3)} s, ${trajectory.cycles} cycles`;
    case "line":
      return `line along ${trajectory.axis}, stroke ${mm(trajectory.stroke)}, period ${trajectory.period.toFixed(3)} s, ${trajectory.cycles} cycles`;
    case "hold":
      return `hold for ${trajectory.duration} s`;
    case "logged":
      return trajectory.period === null ? "as logged" : `as logged, period ${trajectory.period.toFixed(3)} s`;
  }
}
