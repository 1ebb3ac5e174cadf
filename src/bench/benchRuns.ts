import {
  type BenchChannel,
  type BenchRunDeclaration,
  type BenchSensor,
  benchChannels,
} from "../contract/benchDeclaration.ts";
import type { BenchCheck } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import { type Axis, axes } from "../foundation/tracks.ts";
import { mean } from "../numeric/descriptive.ts";
import { type BenchMeasure, travelled } from "./measureBenchRun.ts";
import { magnitude, quotient } from "./phasor.ts";
import type { AtRate, RefitValue } from "./refits.ts";

/** A run with what it shows. */
export interface MeasuredBenchRun {
  readonly run: BenchRunDeclaration;
  readonly measure: BenchMeasure;
  readonly checks: readonly BenchCheck[];
  readonly used: boolean;
}

/** Runs without a refit are of one mounting. */
export const refitOf = ({ run }: MeasuredBenchRun): string => run.refit ?? "";
export const isCreep = ({ measure }: MeasuredBenchRun, settings: BenchSettings): boolean =>
  (measure.cycles?.period ?? 0) >= settings.creep_period;
/** Channels in which gravity's moment of a travel along an axis shows, with the sign that it has there. */
export const gravityChannel = { x: { channel: "my", sign: 1 }, y: { channel: "mx", sign: -1 } } as const;
/** The axis whose travel a channel is set against. */
export const travelOf: Readonly<Partial<Record<BenchChannel, Axis>>> = { fx: "x", fy: "y", fz: "z", my: "x", mx: "y" };

/** Real and imaginary part of a channel's first harmonic over the travel; null where the arm does not travel along it. */
export function perTravel(
  { measure }: MeasuredBenchRun,
  channel: BenchChannel,
  settings: BenchSettings,
): readonly [number, number] | null {
  const axis = travelOf[channel];
  if (axis === undefined || measure.cycles === null || measure.first === null) return null;
  if (measure.channels![channel].harmonics[0] === undefined) return null;
  if (!travelled(measure.cycles, settings).includes(axis)) return null;
  return quotient(measure.first[channel], measure.cycles.travel[axis][0]!);
}

/** The number of a cell: apparent mass of a force, moment over travel. */
export function cellValue(run: MeasuredBenchRun, channel: BenchChannel, settings: BenchSettings): number | null {
  const found = perTravel(run, channel, settings);
  if (found === null) return null;
  return channel.startsWith("f") ? found[0] * (run.measure.cycles!.period / (2 * Math.PI)) ** 2 : found[0];
}

/** One number per refit: the mean over its runs. */
export function byRefit(runs: readonly MeasuredBenchRun[], of: (run: MeasuredBenchRun) => number | null): RefitValue[] {
  return [...new Set(runs.map(refitOf))].flatMap((refit) => {
    const values = runs.filter((run) => refitOf(run) === refit).flatMap((run) => of(run) ?? []);
    return values.length === 0 ? [] : [{ refit, value: mean(Float64Array.from(values)) }];
  });
}

/**
 * Apparent mass by refit over all speeds, each run by the inverse of its variance: a creep run, of which the force is lost in
 * noise, has hardly a say.
 *
 * @returns real and imaginary part, kg
 */
export function apparentByRefit(
  runs: readonly MeasuredBenchRun[],
  axis: Axis,
): { readonly refit: string; readonly re: number; readonly im: number }[] {
  return [...new Set(runs.map(refitOf))].flatMap((refit) => {
    const own = runs.filter((run) => refitOf(run) === refit).flatMap(({ measure }) => measure.apparent[axis] ?? []);
    const weights = own.map(({ se }) => 1 / se ** 2);
    const whole = weights.reduce((sum, weight) => sum + weight, 0);
    if (!(whole > 0) || !Number.isFinite(whole)) return [];
    const part = (k: 0 | 1): number => own.reduce((sum, { value }, i) => sum + weights[i]! * value[k], 0) / whole;
    return [{ refit, re: part(0), im: part(1) }];
  });
}

/** A channel's first harmonic over travel against the cycle rate: real part (moments), or size where it is clear of noise. */
export function readingsOf(
  runs: readonly MeasuredBenchRun[],
  channel: BenchChannel,
  kind: "real" | "size",
  settings: BenchSettings,
): AtRate[] {
  return runs.flatMap((run) => {
    const found = perTravel(run, channel, settings);
    if (found === null) return [];
    const one = run.measure.channels![channel].harmonics[0]!;
    const clear = Math.hypot(one.cos, one.sin) > 4 * Math.sqrt((one.cov[0] + one.cov[2]) / 2);
    if (kind === "size" && (!clear || isCreep(run, settings))) return [];
    const value = kind === "real" ? found[0] : magnitude(found);
    return [{ refit: refitOf(run), rate: 1 / run.measure.cycles!.period, value }];
  });
}

/** Amplitude of a channel's first harmonic; null where there is none. */
export function amplitudeOf({ measure }: MeasuredBenchRun, channel: BenchChannel): number | null {
  const one = measure.channels?.[channel].harmonics[0];
  return one === undefined ? null : Math.hypot(one.cos, one.sin);
}

/**
 * What the other channels may leave in this one: cross-talk times the largest simultaneous amplitude, moments over their full scale
 * times that of the channel.
 *
 * @param quadrature  an axis of travel: only what the others have a quarter of a cycle away from it counts
 * @returns null where cross-talk or full scale is not declared
 */
export function crossTalkFloor(
  run: MeasuredBenchRun,
  channel: BenchChannel,
  { crossTalk, fullScale }: Pick<BenchSensor, "crossTalk" | "fullScale">,
  quadrature: Axis | null = null,
): number | null {
  if (crossTalk === null || fullScale === null) return null;
  const full = (c: number): number => (c < 3 ? fullScale.force[c]! : fullScale.moment[c - 3]!);
  const own = benchChannels.indexOf(channel);
  const { first, cycles } = run.measure;
  const sizeOf = (name: BenchChannel): number => {
    if (quadrature === null || first === null || cycles === null) return amplitudeOf(run, name) ?? 0;
    const travel = cycles.travel[quadrature][0]!;
    return Math.abs(quotient(first[name], travel)[1]) * magnitude(travel);
  };
  const others = benchChannels.map((name, c) => (c === own ? 0 : sizeOf(name) / full(c)));
  return crossTalk * Math.max(...others) * full(own);
}

/** Axes along which the runs of a trajectory travel. */
export function axesOf(runs: readonly MeasuredBenchRun[], settings: BenchSettings): Axis[] {
  return axes.filter((axis) =>
    runs.some(({ measure }) => measure.cycles !== null && travelled(measure.cycles, settings).includes(axis)),
  );
}
