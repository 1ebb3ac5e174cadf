import type { CommandSamples } from "../../../src/alignment/cycles/waveform.ts";
import type { Trajectory } from "../../../src/contract/campaign.ts";

export type Point = readonly [number, number, number];

/** Position of a cyclic command about its centre, as a function of the phase in turns; phase 0 where it starts. */
export type Shape = (turns: number) => Point;

export const circleYz =
  (radius: number): Shape =>
  (turns) => [0, radius * Math.cos(2 * Math.PI * turns), radius * Math.sin(2 * Math.PI * turns)];

/** Out and back along x from the near end, smoothly. */
export const strokeX =
  (stroke: number): Shape =>
  (turns) => [(-stroke / 2) * Math.cos(2 * Math.PI * turns), 0, 0];

export interface Flown {
  readonly shape: Shape;
  readonly period: number;
  /** cycles, those of the ramp included */
  readonly cycles: number;
  /** instant of phase 0, seconds */
  readonly start: number;
  readonly end?: number;
  readonly rate?: number;
  /** instant of the first message */
  readonly first?: number;
  /** cycles over which the amplitude grows linearly from 0 */
  readonly ramp?: number;
  /** seconds of straight travel from the centre to the path before phase 0 */
  readonly travel?: number;
  /** rests at the centre and steps onto the path */
  readonly step?: boolean;
}

const centre: Point = [0.14, 0.01, -0.16];

/** Messages of a command that rests, moves in cycles, and rests again. */
export function command(flown: Flown): CommandSamples {
  const { shape, period, cycles, start, rate = 50, first = 0, ramp = 0, travel = 0, step = false } = flown;
  const end = flown.end ?? start + cycles * period + 5;
  const t = Float64Array.from({ length: Math.floor((end - first) * rate) }, (_, k) => first + k / rate);
  const at = (time: number): Point => {
    const turns = (time - start) / period;
    if (turns < 0) {
      if (ramp > 0 || step) return [0, 0, 0];
      const joined = shape(0);
      const share = travel > 0 ? Math.min(1, Math.max(0, 1 + (time - start) / travel)) : 1;
      return [joined[0] * share, joined[1] * share, joined[2] * share];
    }
    const p = shape(Math.min(turns, cycles));
    const factor = ramp > 0 ? Math.min(1, turns / ramp) : 1;
    return [p[0] * factor, p[1] * factor, p[2] * factor];
  };
  const places = Array.from(t, at);
  const column = (axis: 0 | 1 | 2): Float64Array => Float64Array.from(places, (p) => centre[axis] + p[axis]);
  return { t, x: column(0), y: column(1), z: column(2) };
}

export const circle = (changes: Partial<Extract<Trajectory, { shape: "circle" }>> = {}): Trajectory => ({
  shape: "circle",
  plane: "yz",
  radius: 0.06,
  speed: 0.25,
  period: 1.508,
  cycles: 12,
  ...changes,
});

export const line = (changes: Partial<Extract<Trajectory, { shape: "line" }>> = {}): Trajectory => ({
  shape: "line",
  axis: "x",
  stroke: 0.15,
  period: 1.9,
  cycles: 12,
  ...changes,
});
