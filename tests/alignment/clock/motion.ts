import type { MotionSight } from "../../../src/alignment/clock/motionSight.ts";
import { seededRandom } from "../../../src/numeric/seededRandom.ts";

/** Turn angles about three axes as a function of true time, radians. */
export type Angles = (t: number) => readonly [number, number, number];

/**
 * A motion with energy from 0.1 to 2.5 Hz and nothing above: twenty sines per axis at frequencies that share no period
 * (the lines are spread at random), about 1 degree in all.
 */
export function bandLimited(seed: number): Angles {
  const { uniform } = seededRandom(seed);
  const lines = Array.from({ length: 3 }, () =>
    Array.from({ length: 20 }, (_, k) => ({
      f: 0.1 + (2.4 * (k + uniform())) / 20,
      a: 0.004,
      p: 2 * Math.PI * uniform(),
    })),
  );
  const sum = (axis: number, t: number): number =>
    lines[axis]!.reduce((total, { f, a, p }) => total + a * Math.sin(2 * Math.PI * f * t + p), 0);
  return (t) => [sum(0, t), sum(1, t), sum(2, t)];
}

/** Periodic motion; where `from` is given it rests before and after, with smooth transitions of half a second. */
export function cyclic(period: number, between?: readonly [number, number]): Angles {
  const gate = (t: number): number => {
    if (!between) return 1;
    const edge = (x: number): number => (x <= 0 ? 0 : x >= 1 ? 1 : 0.5 - 0.5 * Math.cos(Math.PI * x));
    return edge((t - between[0]) / 0.5) * edge((between[1] - t) / 0.5);
  };
  return (t) => {
    const theta = (2 * Math.PI * t) / period;
    const g = gate(t);
    return [0.03 * g * Math.sin(theta), 0.02 * g * Math.cos(theta + 0.4), 0.01 * g * Math.sin(2 * theta)];
  };
}

export interface Seen {
  readonly rate: number;
  readonly from: number;
  readonly to: number;
  /** the clock shows true time + offset + skew x true time */
  readonly offset?: number;
  readonly skew?: number;
  /** sd of the noise on each angle, rad */
  readonly noise?: number;
  /** sd of the noise on the angle's increments (a gyro's), rad/s at this sample rate */
  readonly rateNoise?: number;
  /** constant rate added per axis, rad/s: a gyro's bias */
  readonly bias?: readonly [number, number, number];
  readonly seed?: number;
  /** uniform jitter of the sampling instants (exactly stamped), in intervals */
  readonly jitter?: number;
}

/** What a clock with an error shows of a motion: stamped integrals, exact but for the noise. */
export function seen(motion: Angles, options: Seen): MotionSight {
  const {
    rate,
    from,
    to,
    offset = 0,
    skew = 0,
    noise = 0,
    rateNoise = 0,
    bias = [0, 0, 0],
    seed = 1,
    jitter = 0,
  } = options;
  const random = seededRandom(seed);
  const n = Math.floor((to - from) * rate);
  const t = new Float64Array(n);
  const integrals = [new Float64Array(n), new Float64Array(n), new Float64Array(n)] as const;
  const walk = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const time = from + (i + jitter * (random.uniform() - 0.5)) / rate;
    t[i] = time + offset + skew * time;
    const angles = motion(time);
    for (let axis = 0; axis < 3; axis++) {
      if (rateNoise > 0) walk[axis]! += (rateNoise * random.normal()) / rate;
      integrals[axis]![i] =
        angles[axis]! + bias[axis]! * time + walk[axis]! + (noise > 0 ? noise * random.normal() : 0);
    }
  }
  return { t, integrals, breaks: new Uint8Array(n) };
}
