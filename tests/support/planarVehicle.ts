import type { ArmMotion } from "../../src/metrics/movingMoment.ts";

/** What is flown: masses, loops and how the arm moves. SI; angles in radians. */
export interface PlanarFlight {
  /** of the body, and of the mass that slides along its forward axis */
  readonly body: number;
  readonly sliding: number;
  /** travel of the sliding mass per travel of the control point */
  readonly fraction: number;
  /** frequency of the position loop, Hz */
  readonly loop: number;
  readonly rate: number;
  readonly cycles: number;
  /** amplitude of the control point, and its mean place forward of the body's centre of mass and below it */
  readonly travel: number;
  readonly out: number;
  readonly below: number;
  /** of the vehicle, and of the world that the capture shows it in */
  readonly heading: number;
  /** linear drag on the body's velocity, 1/s of the whole mass */
  readonly drag?: number;
  /** height of the point taken for the centre of mass above it */
  readonly above?: number;
  readonly sampling?: number;
}

/**
 * A planar vehicle that holds its place while a mass slides in it: no small angles, no linearised plant. State: centre of mass of the
 * whole, its velocity, the tilt phi (from forward to up), the angular momentum L about that centre, the two integrals of the
 * position loop. With r = (s, -below) the sliding mass seen from the body's own centre, mu its reduced mass, M the sum:
 *
 *   M r_C'' = (0, -M g) + T (-sin phi, cos phi) - drag,   L' = N - (m s / M) T,   phi' = (L - mu below s') / (J + mu r^2)
 *
 * Thrust acts along the body's up axis through its own centre. Runge-Kutta of fourth order, 1 ms.
 */
export function flyPlanar(flight: PlanarFlight): { readonly motion: ArmMotion; readonly cycles: [number, number][] } {
  const { body, sliding, fraction, loop, rate, cycles, travel, out, below, heading } = flight;
  const { drag = 0, above = 0, sampling = 100 } = flight;
  const [g, inertia] = [9.80665, 0.12];
  const whole = body + sliding;
  const reduced = (body * sliding) / whole;
  const still = 3;
  const omega = 2 * Math.PI * rate;
  const mean = out;
  /** place and speed of the sliding mass along the body; it starts with a step of speed, as a circle does */
  const slide = (time: number): [number, number] => {
    const phase = omega * (time - still);
    return phase <= 0
      ? [mean, 0]
      : [mean + fraction * travel * Math.sin(phase), fraction * travel * omega * Math.cos(phase)];
  };
  const [w, wt] = [2 * Math.PI * loop, 2 * Math.PI * 4.5];
  const place = (state: readonly number[], s: number): [number, number] => {
    const shift = (sliding / whole) * (s - mean);
    return [state[0]! - shift * Math.cos(state[4]!), state[1]! - shift * Math.sin(state[4]!)];
  };
  const rateOf = (state: readonly number[], time: number): number[] => {
    const [s, speed] = slide(time);
    const [x, z] = place(state, s);
    const phi = state[4]!;
    const spin = (state[5]! - reduced * below * speed) / (inertia + reduced * (s * s + below * below));
    const push = -w * w * x - 1.3 * w * state[2]! - 0.4 * w * w * state[6]!;
    const lift = g - w * w * z - 1.6 * w * state[3]! - 0.4 * w * w * state[7]!;
    const thrust = (whole * lift) / Math.cos(phi);
    // the arm's standing moment is trimmed
    const moment = inertia * (wt * wt * (-push / g - phi) - 1.6 * wt * spin) + (sliding / whole) * mean * thrust;
    return [
      state[2]!,
      state[3]!,
      (-thrust * Math.sin(phi)) / whole - drag * state[2]!,
      (thrust * Math.cos(phi)) / whole - g - drag * state[3]!,
      spin,
      moment - (sliding / whole) * s * thrust,
      x,
      z,
    ];
  };
  const end = still + cycles / rate;
  const rows: number[][] = [];
  let state = Array<number>(8).fill(0);
  const h = 0.001;
  const each = Math.round(1 / sampling / h);
  const add = (a: readonly number[], b: readonly number[], by: number): number[] => a.map((v, i) => v + by * b[i]!);
  for (let step = 0; step * h < end + 0.5; step++) {
    const time = step * h;
    if (step % each === 0) {
      const [s] = slide(time);
      const [x] = place(state, s);
      rows.push([time, x - above * Math.sin(state[4]!), state[4]!, out + (s - mean) / fraction]);
    }
    const k1 = rateOf(state, time);
    const k2 = rateOf(add(state, k1, h / 2), time + h / 2);
    const k3 = rateOf(add(state, k2, h / 2), time + h / 2);
    const k4 = rateOf(add(state, k3, h), time + h);
    state = state.map((v, i) => v + (h / 6) * (k1[i]! + 2 * k2[i]! + 2 * k3[i]! + k4[i]!));
  }
  const column = (of: (row: readonly number[]) => number): Float64Array => Float64Array.from(rows, of);
  const [ch, sh] = [Math.cos(heading / 2), Math.sin(heading / 2)];
  // yaw by the heading, then pitch down by -phi
  const half = (row: readonly number[]): [number, number] => [Math.cos(-row[2]! / 2), Math.sin(-row[2]! / 2)];
  return {
    motion: {
      t: column(([t]) => t!),
      x: column((row) => 0.4 + row[1]! * Math.cos(heading)),
      y: column((row) => -0.2 + row[1]! * Math.sin(heading)),
      qx: column((row) => -sh * half(row)[1]),
      qy: column((row) => ch * half(row)[1]),
      qz: column((row) => sh * half(row)[0]),
      qw: column((row) => ch * half(row)[0]),
      sx: column((row) => row[3]!),
      sy: column(() => 0.01),
    },
    cycles: Array.from({ length: cycles }, (_, k) => [still + k / rate, still + (k + 1) / rate]),
  };
}
