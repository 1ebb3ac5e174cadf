import { type BenchChannel, type BenchReading, type BenchSensor, benchChannels } from "../contract/benchDeclaration.ts";
import type { BenchCheck } from "../contract/benchEvaluation.ts";
import type { BenchSettings } from "../contract/benchSettings.ts";
import { type Axis, axes, type Window } from "../foundation/tracks.ts";
import type { Vector3 } from "../foundation/units.ts";
import { mean, sampleStandardDeviation } from "../numeric/descriptive.ts";
import { lowerBound } from "../numeric/sortedColumns.ts";
import { armCycles, type BenchCycles, cyclePeriod, cyclesOfMarks } from "./armCycles.ts";
import { magnitude, type Phasor, phasorOf, quotient, timesNumber } from "./phasor.ts";
import { readingChecks } from "./readingChecks.ts";
import { filterResponse } from "./resonance.ts";
import { type ChannelSplit, splitWrench } from "./splitWrench.ts";
import { exertedByArm } from "./wrench.ts";

/** Force and travel at one harmonic, along one axis. */
export interface ApparentMass {
  readonly k: number;
  /** kg */
  readonly value: Phasor;
  /** of real and of imaginary part, from the force's noise */
  readonly se: number;
}

/** What one bench run shows. */
export interface BenchMeasure {
  readonly cycles: BenchCycles | null;
  readonly channels: Readonly<Record<BenchChannel, ChannelSplit>> | null;
  /** first-harmonic phasors of the channels, the device's filter taken out */
  readonly first: Readonly<Record<BenchChannel, Phasor>> | null;
  /** drift over the cycles that the line between the tares does not show; null without two tares */
  readonly driftLeft: Readonly<Record<BenchChannel, number>> | null;
  /** standard deviation at rest; null where the arm never rests */
  readonly atRest: Readonly<Record<BenchChannel, number>> | null;
  /** along the axes that the arm travels */
  readonly apparent: Readonly<Partial<Record<Axis, ApparentMass>>>;
  readonly checks: readonly BenchCheck[];
}

export interface BenchContext {
  readonly sensor: BenchSensor;
  /** moments are about it, in the arm base */
  readonly point: Vector3;
  readonly tare: { readonly before: number | null; readonly after: number | null };
  /** as filed, Hz; null where not */
  readonly rate: number | null;
  /** lowest natural frequency of the configuration's fixture; null where no tap says */
  readonly resonance: number | null;
}

/**
 * One bench run from its readings: what is wrong with them, cycles from the arm's own motion, tare, the wrench of the arm on its
 * base, its split over the cycles, and the apparent moving mass along the axes that the arm travels:
 *
 *   u_k = F_k / (H(k f) (k w)^2 S_k),   H the declared filter's response
 *
 * @source Newton's second law for the moving masses; a point mass m at s exerts -m s'' = m (k w)^2 s on its base
 */
export function measureBenchRun(reading: BenchReading, context: BenchContext, settings: BenchSettings): BenchMeasure {
  const checks = [...readingChecks(reading, context.sensor, settings)];
  const nothing = { cycles: null, channels: null, first: null, driftLeft: null, atRest: null, apparent: {}, checks };
  const cycles = cyclesOf(reading, context, checks, settings);
  if (cycles === "does-not-move") {
    checks.push({
      code: "does-not-move",
      severity: "unusable",
      message: "the arm never moves in this file",
      evidence: {},
      hint: "a file of the arm at rest is no run: give it under `tare`, or look at `signals: arm`",
    });
    return nothing;
  }
  if (cycles === "few-cycles") {
    checks.push({
      code: "few-cycles",
      severity: "unusable",
      message: `the arm runs fewer than ${settings.least_cycles} whole cycles`,
      evidence: {},
      hint: "run at least ten cycles after the first two; two of a creep run",
    });
    return nothing;
  }
  const { t } = reading;
  const exerted = exertedByArm(reading.wrench, context.sensor, context.point);
  const tare = tareLine(t, exerted, cycles, context.tare, settings);
  checks.push(...tare.checks);
  const split = splitWrench(t, exerted, cycles, settings);
  if (split === null) return nothing;
  const middle = 0.5 * (cycles.window[0] + cycles.window[1]);
  const rate = 1 / cycles.period;
  const dropped = (k: number): boolean =>
    context.resonance !== null && (k * rate) / context.resonance > settings.resonance_drop;
  const channels = Object.fromEntries(
    benchChannels.map((name) => {
      const own = split[name];
      const kept = own.harmonics.filter(({ k }) => !dropped(k));
      return [name, { ...own, harmonics: kept, mean: own.mean - tare.at(name, middle) }];
    }),
  ) as unknown as Record<BenchChannel, ChannelSplit>;
  checks.push(...rateChecks({ t, wrench: exerted }, cycles, { rate, context, channels }, settings));
  const response = (k: number): Phasor =>
    context.sensor.filter === null || context.sensor.filter === "none"
      ? [1, 0]
      : filterResponse(context.sensor.filter, k * rate);
  const first = Object.fromEntries(
    benchChannels.map((name) => {
      const one = channels[name].harmonics[0];
      return [name, one === undefined ? ([0, 0] as Phasor) : quotient(phasorOf(one), response(1))];
    }),
  ) as unknown as Record<BenchChannel, Phasor>;
  return {
    cycles,
    channels,
    first,
    driftLeft: !tare.both
      ? null
      : (Object.fromEntries(
          benchChannels.map((name) => {
            const [from, to] = cycles.window;
            return [name, channels[name].drift * (to - from) - (tare.at(name, to) - tare.at(name, from))];
          }),
        ) as Record<BenchChannel, number>),
    atRest: restNoise(t, exerted, cycles),
    apparent: apparentMasses(cycles, channels, first, settings),
    checks,
  };
}

/** Cycles from the arm's position, else from one mark a cycle, else of the filed period between the rests at both ends. */
function cyclesOf(
  { arm, marks, t }: BenchReading,
  { rate, tare }: BenchContext,
  checks: BenchCheck[],
  settings: BenchSettings,
): BenchCycles | "does-not-move" | "few-cycles" {
  if (arm !== null) return armCycles(arm, settings);
  checks.push({
    code: "no-phase",
    severity: "note",
    message:
      marks === null
        ? "nothing shows the arm's phase: amplitudes only, no vectors, no moving mass, no ratio of them"
        : "one mark a cycle shows the phase, not the travel: amplitudes only, no moving mass",
    evidence: {},
    hint: "log the arm's position with the wrench (`bench: signals: arm`)",
  });
  const from = t[0]! + (tare.before ?? 0);
  const to = t.at(-1)! - (tare.after ?? 0);
  const count = rate === null ? 0 : Math.max(0, Math.floor((to - from) * rate)) + 1;
  return (
    cyclesOfMarks(marks ?? Float64Array.from({ length: count }, (_, i) => from + i / rate!), settings) ?? "few-cycles"
  );
}

/** Axes along which the first harmonic of the travel is clear of its noise. */
export function travelled(cycles: BenchCycles, settings: BenchSettings): Axis[] {
  const sizes = axes.map((axis) => magnitude(cycles.travel[axis][0]!));
  const largest = Math.max(...sizes);
  return axes.filter(
    (_, i) =>
      sizes[i]! >= settings.least_amplitude && sizes[i]! >= Math.max(settings.least_amplitude_share, 0.2) * largest,
  );
}

function apparentMasses(
  cycles: BenchCycles,
  channels: Readonly<Record<BenchChannel, ChannelSplit>>,
  first: Readonly<Record<BenchChannel, Phasor>>,
  settings: BenchSettings,
): BenchMeasure["apparent"] {
  const w2 = ((2 * Math.PI) / cycles.period) ** 2;
  return Object.fromEntries(
    travelled(cycles, settings).flatMap((axis) => {
      const channel = `f${axis}` as BenchChannel;
      const own = channels[channel].harmonics[0];
      if (own === undefined) return [];
      const travel = cycles.travel[axis][0]!;
      const value = timesNumber(quotient(first[channel], travel), 1 / w2);
      const se = Math.sqrt((own.cov[0] + own.cov[2]) / 2) / (w2 * magnitude(travel));
      return [[axis, { k: 1, value, se }]];
    }),
  );
}

/** What the sensor shows at rest at both ends, as a straight line in time. */
function tareLine(
  t: Float64Array,
  wrench: Readonly<Record<BenchChannel, Float64Array>>,
  { before, after }: BenchCycles,
  declared: BenchContext["tare"],
  settings: BenchSettings,
): { at: (name: BenchChannel, time: number) => number; both: boolean; checks: BenchCheck[] } {
  const trimmed = (rest: Window | null, length: number | null, side: "before" | "after"): Window | null => {
    if (rest === null || length === null) return null;
    const long = Math.min(length, rest[1] - rest[0]);
    return side === "before" ? [rest[1] - long, rest[1]] : [rest[0], rest[0] + long];
  };
  const ends = [trimmed(before, declared.before, "before"), trimmed(after, declared.after, "after")];
  const levels = ends.flatMap((window) => {
    if (window === null) return [];
    const [from, to] = [lowerBound(t, window[0]), lowerBound(t, window[1])];
    if (to - from < 2) return [];
    const values = benchChannels.map((name) => mean(wrench[name].subarray(from, to)));
    return [{ time: 0.5 * (window[0] + window[1]), values }];
  });
  const at = (name: BenchChannel, time: number): number => {
    const c = benchChannels.indexOf(name);
    const [a, b] = levels;
    if (a === undefined) return 0;
    if (b === undefined) return a.values[c]!;
    return a.values[c]! + ((b.values[c]! - a.values[c]!) * (time - a.time)) / (b.time - a.time);
  };
  if (levels.length === 2) return { at, both: true, checks: [] };
  const check: BenchCheck =
    levels.length === 1
      ? {
          code: "one-tare",
          severity: "note",
          message: `the arm rests at one end of the file only (at least ${settings.least_rest} s is needed at both): drift comes from the cycles themselves`,
          evidence: {},
          hint: "let the arm rest for five seconds before and after every run",
        }
      : {
          code: "no-tare",
          severity: "doubt",
          message: `the arm rests at neither end of the file for ${settings.least_rest} s: means are untared`,
          evidence: {},
          hint: "let the arm rest for five seconds before and after every run; harmonics do not rest on it",
        };
  return { at, both: false, checks: [check] };
}

function restNoise(
  t: Float64Array,
  wrench: Readonly<Record<BenchChannel, Float64Array>>,
  { before, after }: BenchCycles,
): BenchMeasure["atRest"] {
  const window = before ?? after;
  if (window === null) return null;
  // the first moments after a stop still ring
  const [from, to] = [lowerBound(t, window[0] + (before === null ? 0.5 : 0)), lowerBound(t, window[1])];
  if (to - from < 10) return null;
  return Object.fromEntries(
    benchChannels.map((name) => [name, sampleStandardDeviation(wrench[name].subarray(from, to))]),
  ) as Record<BenchChannel, number>;
}

function rateChecks(
  reading: Pick<BenchReading, "t" | "wrench">,
  cycles: BenchCycles,
  found: { rate: number; context: BenchContext; channels: Readonly<Record<BenchChannel, ChannelSplit>> },
  settings: BenchSettings,
): BenchCheck[] {
  const { rate, context, channels } = found;
  const checks: BenchCheck[] = [];
  if (context.rate !== null && Math.abs(rate / context.rate - 1) > settings.speed_share)
    checks.push({
      code: "wrong-trajectory",
      severity: "unusable",
      message: `the arm runs a cycle in ${cycles.period.toFixed(3)} s, the filed speed makes ${(1 / context.rate).toFixed(3)} s`,
      evidence: { period_s: cycles.period, filed_s: 1 / context.rate },
      hint: "file the run under the speed it was run at",
    });
  const own = forcePeriod(reading, cycles, channels, settings);
  if (own !== null && Math.abs(own.period / cycles.period - 1) > settings.period_share + 3 * own.se)
    checks.push({
      code: "period",
      severity: "doubt",
      message: `${own.channel} repeats every ${own.period.toFixed(4)} s, the arm every ${cycles.period.toFixed(4)} s`,
      evidence: { force_s: own.period, arm_s: cycles.period },
      hint: "the two clocks run at different rates, or the arm's position is not of this run",
    });
  if (context.resonance !== null) {
    const ratio = rate / context.resonance;
    if (ratio > settings.resonance_doubt)
      checks.push({
        code: "resonance",
        severity: "doubt",
        message: `the cycles run at ${(100 * ratio).toFixed(0)} % of the fixture's own frequency (${context.resonance.toFixed(1)} Hz): forces read ${(100 * (1 / (1 - ratio ** 2) - 1)).toFixed(0)} % too large`,
        evidence: { ratio, fixture_hz: context.resonance },
        hint: "stiffen the stand, or run slower",
      });
  }
  return checks;
}

/** The period that the largest force or moment shows by itself; null for a creep run, or where none stands clear of noise. */
function forcePeriod(
  { t, wrench }: Pick<BenchReading, "t" | "wrench">,
  { period, window, cycles }: BenchCycles,
  channels: Readonly<Record<BenchChannel, ChannelSplit>>,
  settings: BenchSettings,
): { period: number; se: number; channel: BenchChannel } | null {
  if (period >= settings.creep_period || cycles < 4) return null;
  const ratios = benchChannels.map((name) => {
    const one = channels[name].harmonics[0];
    return one === undefined ? 0 : Math.hypot(one.cos, one.sin) / Math.sqrt((one.cov[0] + one.cov[2]) / 2);
  });
  const best = ratios.indexOf(Math.max(...ratios));
  if (!(ratios[best]! > 20)) return null;
  const channel = benchChannels[best]!;
  const [from, to] = [lowerBound(t, window[0]), lowerBound(t, window[1])];
  const found = cyclePeriod(t.subarray(from, to), wrench[channel].subarray(from, to), period, settings);
  // of a frequency over N cycles, from the phase's standard error: sqrt(12) / (2 pi N)
  return { period: found, se: Math.sqrt(12) / (2 * Math.PI * cycles * ratios[best]!), channel };
}
