import { type BenchChannel, benchChannels } from "../contract/benchDeclaration.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import type { Window } from "../foundation/tracks.ts";
import { synchronousSplit } from "../metrics/synchronousSplit.ts";
import { mean } from "../numeric/descriptive.ts";
import { fitHarmonicDesign, harmonicDesign } from "../numeric/fitHarmonics.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import type { BenchCycles } from "./armCycles.ts";
import type { WrenchColumns } from "./wrench.ts";

export interface ChannelHarmonic {
  readonly k: number;
  readonly cos: number;
  readonly sin: number;
  /** [var cos, cov, var sin] */
  readonly cov: readonly [number, number, number];
}

/** One channel over the whole cycles: c0 + c1 t + sum over k of a_k cos k theta + b_k sin k theta. */
export interface ChannelSplit {
  /** c0, in the middle of the cycles */
  readonly mean: number;
  /** c1, per second */
  readonly drift: number;
  readonly harmonics: readonly ChannelHarmonic[];
  /** rms about c0 + c1 t: of harmonics 1..K with the noise's share taken out, and of everything */
  readonly rms: { readonly cycle: number; readonly full: number };
  /** `cycle` is not distinguished from its noise: a bound */
  readonly at_least: boolean;
  /** of what the harmonics leave */
  readonly remaining: number;
  /** largest and smallest value about c0 + c1 t, cycle by cycle */
  readonly highest: readonly number[];
  readonly lowest: readonly number[];
}

/**
 * Splits the channels of a wrench over whole cycles of the arm. The line c1 t is fitted together with the harmonics (its part at
 * right angles to them, after Frisch and Waugh), so that drift neither leaks into the sines nor takes from them. No filter comes
 * before the split. Covariances are from the residual's density beside each harmonic, not from white noise.
 *
 * The squared amplitude of a harmonic is too large by the variances of its two coefficients (4 s^2 / N for white noise); that is
 * taken off the rms.
 *
 * @param wrench  newtons and newton metres at the instants t, which reach over the cycles
 * @returns null where there are too few samples to tell the harmonics apart
 * @source R. Frisch, F. V. Waugh, Econometrica 1 (1933) 387-401
 */
export function splitWrench(
  t: Float64Array,
  wrench: WrenchColumns,
  { window, cycles, period }: Pick<BenchCycles, "window" | "cycles" | "period">,
  settings: BenchSettings,
): Record<BenchChannel, ChannelSplit> | null {
  const [from, to] = [lowerBound(t, window[0]), lowerBound(t, window[1])];
  if (to - from < 4 * (2 * settings.harmonics + 2)) return null;
  const times = t.subarray(from, to);
  const straightened = withoutDrift(times, wrench, { from, to, window, cycles, harmonics: settings.harmonics });
  const splits = synchronousSplit(
    times,
    straightened.map(({ values }) => values),
    window,
    cycles,
    { harmonics: settings.harmonics, neighbours: settings.neighbours, settle: 0, clock: null },
  );
  if (splits === null) return null;
  return Object.fromEntries(
    benchChannels.map((name, c) => {
      const { values, drift } = straightened[c]!;
      const split = splits[c]!;
      const centre = mean(values);
      let [square, noise, fitted] = [0, 0, 0];
      for (const value of values) square += (value - centre) ** 2 / values.length;
      for (const { cos, sin, cov } of split.harmonics) {
        fitted += (cos * cos + sin * sin) / 2;
        noise += (cov[0] + cov[2]) / 2;
      }
      const harmonics = split.harmonics.map(({ k, cos, sin, cov }) => ({ k, cos, sin, cov }));
      return [
        name,
        {
          mean: centre,
          drift,
          harmonics,
          rms: { cycle: Math.sqrt(Math.max(0, fitted - noise)), full: Math.sqrt(square) },
          at_least: !(fitted > 3 * noise),
          remaining: split.remaining_rms,
          ...extremes(times, values, centre, { window, cycles, period }),
        },
      ];
    }),
  ) as unknown as Record<BenchChannel, ChannelSplit>;
}

function withoutDrift(
  times: Float64Array,
  wrench: WrenchColumns,
  over: { from: number; to: number; window: Window; cycles: number; harmonics: number },
): { values: Float64Array; drift: number }[] {
  const { from, to, window, cycles, harmonics } = over;
  const middle = 0.5 * (window[0] + window[1]);
  const since = times.map((time) => time - middle);
  const theta = times.map((time) => (2 * Math.PI * cycles * (time - window[0])) / (window[1] - window[0]));
  const { residuals } = fitHarmonicDesign(harmonicDesign(theta, harmonics), since);
  const own = residuals.reduce((sum, value) => sum + value * value, 0);
  return benchChannels.map((name) => {
    const column = wrench[name].subarray(from, to);
    let along = 0;
    for (let i = 0; i < column.length; i++) along += residuals[i]! * column[i]!;
    const drift = along / own;
    return { values: column.map((value, i) => value - drift * since[i]!), drift };
  });
}

function extremes(
  times: Float64Array,
  values: Float64Array,
  centre: number,
  { window, cycles, period }: Pick<BenchCycles, "window" | "cycles" | "period">,
): { highest: number[]; lowest: number[] } {
  const highest = new Array<number>(cycles).fill(Number.NEGATIVE_INFINITY);
  const lowest = new Array<number>(cycles).fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < times.length; i++) {
    const cycle = Math.min(cycles - 1, Math.floor((times[i]! - window[0]) / period));
    const value = values[i]! - centre;
    if (value > highest[cycle]!) highest[cycle] = value;
    if (value < lowest[cycle]!) lowest[cycle] = value;
  }
  return { highest, lowest };
}
