import type { AlignedRun } from "../alignment/alignRun.ts";
import { sampleAttitudes, samplePoints } from "../alignment/sampleTrack.ts";
import { type SubjectTrack, turnToErrors } from "../alignment/subjectTracks.ts";
import { validFraction } from "../alignment/validFraction.ts";
import type { HoverFigures, RunEvaluation, SplitFigures, SubjectTracking } from "../contract/evaluation.ts";
import type { Settings } from "../contract/settings.ts";
import { type Axis, axes, type Subject, subjects, type Window } from "../foundation/tracks.ts";
import { attitudeAngles, attitudeError } from "../metrics/attitudeError.ts";
import { hoverDrift, hoverRadii } from "../metrics/hoverDrift.ts";
import { responseDelay } from "../metrics/responseDelay.ts";
import { shareWithin } from "../metrics/shareWithin.ts";
import { synchronousSplit } from "../metrics/synchronousSplit.ts";
import { trackingError, trackingErrorNorm, vectorLengths } from "../metrics/trackingError.ts";
import { plainSumOfSquares } from "../numeric/descriptive.ts";
import { type Extremes, extremesByPart } from "./commonLength.ts";
import { lowerBound, sliceErrors, sliceMeasured } from "./windowSlices.ts";

/** sd of the measurement noise per body and axis, metres. */
export type BodyNoise = Readonly<Record<Axis, number>>;

/** The measured part of a run's evaluation, with what is needed to bring maxima to a common length later. */
export interface RunMeasures {
  readonly tracking: RunEvaluation["tracking"];
  readonly hold: RunEvaluation["hold"];
  readonly attitude: RunEvaluation["attitude"];
  readonly synchronous: RunEvaluation["synchronous"];
  readonly within: RunEvaluation["within"];
  readonly valid_fraction: RunEvaluation["valid_fraction"];
  readonly extremes: { readonly cycles: Extremes; readonly hold: Extremes };
}

/** Length of the parts of a hold window over which maxima are kept, seconds. */
export const holdPart = 0.5;

/**
 * The catalogue: which metric gets which columns of an aligned run.
 *
 * @param noise      sd of the measurement noise of both bodies, metres; null where unknown
 * @param tolerance  of the measure `within`, metres; null where none is declared
 */
export function measureRun(
  run: AlignedRun,
  noise: { vehicle: BodyNoise | null; effector: BodyNoise | null },
  settings: Settings,
  tolerance: number | null = null,
): RunMeasures {
  const present = subjects.filter((subject) => run.subjects[subject] !== undefined);
  const window = cycleWindow(run);
  const cycles: SubjectTracking = {};
  const holds: SubjectTracking = {};
  const hover: Partial<Record<Subject, HoverFigures>> = {};
  const synchronous: Partial<Record<Subject, Record<Axis, SplitFigures>>> = {};
  const valid: Partial<Record<Subject, number>> = {};
  const extremes = { cycles: {} as Extremes, hold: {} as Extremes };
  for (const subject of present) {
    const track = run.subjects[subject]!;
    const interval = run.intervals[subject === "effector" ? "effector" : "vehicle"]!;
    if (run.scored !== null) valid[subject] = validFraction(track.t, interval, run.scored, settings.gap_intervals);
    if (window !== null) {
      const delay = delayOf(askedIn(run, track, window, settings), noiseOf(subject, noise), settings);
      const figures = trackingIn(track, window, run.cycles, delay);
      if (figures !== null) {
        cycles[subject] = figures;
        extremes.cycles[subject] = extremesByPart(track, run.cycles);
        const split = splitOf(track, window, run, settings);
        if (split !== null) synchronous[subject] = split;
      }
    }
    if (run.hold !== null) {
      const figures = trackingIn(track, run.hold, [], null);
      if (figures !== null) {
        holds[subject] = figures;
        extremes.hold[subject] = extremesByPart(track, partsOf(run.hold));
      }
      const drift = hoverOf(track, run.hold, settings);
      if (drift !== null) hover[subject] = drift;
    }
  }
  const some = <T extends object>(record: T): T | null => (Object.keys(record).length === 0 ? null : record);
  return {
    tracking: { cycles: some(cycles), hold: some(holds) },
    hold: some(hover),
    attitude: attitudeOf(run, settings),
    synchronous: some(synchronous),
    within:
      tolerance === null
        ? null
        : { cycles: withinOf(run, present, window, tolerance), hold: withinOf(run, present, run.hold, tolerance) },
    valid_fraction: valid,
    extremes,
  };
}

/** Share of each subject's samples in a window that lie within the tolerance; null without one. */
function withinOf(
  run: AlignedRun,
  present: readonly Subject[],
  window: Window | null,
  tolerance: number,
): Partial<Record<Subject, number>> | null {
  if (window === null) return null;
  const shares: Partial<Record<Subject, number>> = {};
  for (const subject of present) {
    const { x, y, z } = sliceErrors(run.subjects[subject]!, window);
    const share = shareWithin(vectorLengths(x, y, z), tolerance);
    if (share !== null) shares[subject] = share;
  }
  return Object.keys(shares).length === 0 ? null : shares;
}

function cycleWindow(run: AlignedRun): Window | null {
  return run.cycles.length === 0 ? null : [run.cycles[0]![0], run.cycles.at(-1)![1]];
}

function partsOf(hold: Window): Window[] {
  const count = Math.ceil((hold[1] - hold[0]) / holdPart);
  return Array.from(
    { length: count },
    (_, k) => [hold[0] + k * holdPart, Math.min(hold[1], hold[0] + (k + 1) * holdPart)] as const,
  );
}

function noiseOf(subject: Subject, noise: { vehicle: BodyNoise | null; effector: BodyNoise | null }): number {
  const size = (body: BodyNoise | null): number => (body === null ? 0 : Math.hypot(body.x, body.y, body.z));
  if (subject === "vehicle") return size(noise.vehicle);
  if (subject === "effector") return size(noise.effector);
  return Math.hypot(size(noise.vehicle), size(noise.effector));
}

type Asked = Pick<SubjectTrack, "t" | "measured" | "command">;

/** What a delay is looked for in: of a logged trajectory what is scored alone, for take-off and landing are flown otherwise. */
function askedIn(run: AlignedRun, track: SubjectTrack, window: Window, settings: Settings): Asked {
  return run.flight === null ? track : cutTo(track, window, settings);
}

/** The motion within a window, with the command that any delay looked for can have answered. */
function cutTo({ t, measured, command }: SubjectTrack, [from, to]: Window, settings: Settings): Asked {
  const rows = [lowerBound(t, from), lowerBound(t, to)] as const;
  const stated = [
    Math.max(0, lowerBound(command.t, from - settings.delay_to) - 1),
    lowerBound(command.t, to - settings.delay_from) + 1,
  ] as const;
  const cut = <T extends Record<Axis, Float64Array>>({ x, y, z }: T, [a, b]: readonly [number, number]) => ({
    x: x.subarray(a, b),
    y: y.subarray(a, b),
    z: z.subarray(a, b),
  });
  return {
    t: t.subarray(...rows),
    measured: cut(measured, rows),
    command: { t: command.t.subarray(...stated), ...cut(command, stated) },
  };
}

function delayOf(track: Asked, noise: number, settings: Settings): number | null {
  return responseDelay(
    {
      t: track.t,
      measured: [track.measured.x, track.measured.y, track.measured.z],
      commandTimes: track.command.t,
      command: [track.command.x, track.command.y, track.command.z],
    },
    {
      from: settings.delay_from,
      to: settings.delay_to,
      rival: settings.delay_rival,
      leastMotion: Math.max(settings.delay_noise_ratio * noise, 1e-6),
    },
  );
}

function trackingIn(
  track: SubjectTrack,
  window: Window,
  parts: readonly Window[],
  delay: number | null,
): NonNullable<SubjectTracking["vehicle"]> | null {
  const slice = sliceErrors(track, window);
  const removed = delay === null ? null : rmsWithoutDelay(track, window, delay);
  const figures = axes.map((axis) => trackingError(slice[axis]));
  if (figures.some((figure) => figure === null)) return null;
  const lengths = vectorLengths(slice.x, slice.y, slice.z);
  const norm = trackingErrorNorm(figures as NonNullable<(typeof figures)[number]>[], lengths)!;
  const perCycle = axes.map((axis) => parts.map((part) => rmsIn(sliceErrors(track, part)[axis])));
  const whole = parts.map((_, k) => {
    const values = perCycle.map((column) => column[k]!);
    return values.some((value) => value === null) ? null : Math.hypot(...(values as number[]));
  });
  const of = (axis: number): SubjectTrackingAxis => ({
    ...figures[axis]!,
    rms_delay_removed: removed?.[axis] ?? null,
    per_cycle: perCycle[axis]!,
  });
  return {
    delay,
    x: of(0),
    y: of(1),
    z: of(2),
    norm: { ...norm, rms_delay_removed: removed === null ? null : Math.hypot(...removed), per_cycle: whole },
  };
}

type SubjectTrackingAxis = NonNullable<SubjectTracking["vehicle"]>["x"];

function rmsIn(values: Float64Array): number | null {
  if (values.length === 0) return null;
  return Math.sqrt(plainSumOfSquares(values) / values.length);
}

/** rms per axis against the command `delay` earlier, in a window; null where the command is not known that early. */
function rmsWithoutDelay(track: SubjectTrack, [from, to]: Window, delay: number): number[] | null {
  const a = lowerBound(track.t, from);
  const b = lowerBound(track.t, to);
  const asked = samplePoints(track.command, track.t.subarray(a, b), -delay);
  const n = turnToErrors(asked, track.measured, new Uint32Array(b - a), a);
  if (n < 0.9 * (b - a) || n === 0) return null;
  return axes.map((axis) => Math.sqrt(plainSumOfSquares(asked[axis].subarray(0, n)) / n));
}

function splitOf(
  track: SubjectTrack,
  window: Window,
  run: AlignedRun,
  settings: Settings,
): Record<Axis, SplitFigures> | null {
  if (run.period === null) return null;
  const slice = sliceErrors(track, window);
  const measured = sliceMeasured(track, window);
  const variance = clockVariance(run, 0.5 * (window[0] + window[1]));
  const clock = variance === 0 ? null : { measured: [measured.x, measured.y, measured.z], variance };
  const splits = splitIn(slice.t, [slice.x, slice.y, slice.z], run, settings, clock);
  return splits && { x: splits[0]!, y: splits[1]!, z: splits[2]! };
}

/** The harmonics of some columns over a run's whole cycles. */
function splitIn(
  t: Float64Array,
  columns: readonly Float64Array[],
  run: AlignedRun,
  settings: Settings,
  clock: Parameters<typeof synchronousSplit>[4]["clock"],
): SplitFigures[] | null {
  const splits = synchronousSplit(t, columns, cycleWindow(run)!, run.cycles.length, {
    harmonics: settings.harmonics,
    neighbours: settings.harmonic_neighbours,
    settle: settings.harmonic_settle,
    clock,
  });
  if (splits === null) return null;
  const finite = (value: number): number | null => (Number.isFinite(value) ? value : null);
  return splits.map((split) => ({
    ...split,
    harmonics: split.harmonics.map((harmonic) => ({
      ...harmonic,
      amplitude_se: finite(harmonic.amplitude_se),
      phase_se: finite(harmonic.phase_se),
      cov: harmonic.cov.every(Number.isFinite) ? [...harmonic.cov] : null,
    })),
  }));
}

/** Variance of the offset between the capture's clock and the command's at an instant, square seconds. */
function clockVariance({ clockCovariance }: AlignedRun, at: number): number {
  if (clockCovariance === null) return 0;
  const [v00, v01, v11] = clockCovariance;
  return v00 + 2 * at * v01 + at * at * v11;
}

function hoverOf(track: SubjectTrack, hold: Window, settings: Settings): HoverFigures | null {
  const slice = sliceErrors(track, hold);
  const options = { meanSeconds: settings.drift_mean, order: settings.drift_order, bandSplit: settings.band_split };
  const drifts = axes.map((axis) => hoverDrift(slice.t, slice[axis], hold, options));
  const radii = hoverRadii(slice.x, slice.y);
  if (radii === null || drifts.some((drift) => drift === null)) return null;
  const of = (axis: number): HoverFigures["x"] => {
    const drift = drifts[axis]!;
    return {
      ...drift,
      end_minus_start: Number.isFinite(drift.end_minus_start) ? drift.end_minus_start : null,
      slope_ci: drift.slope_ci === null ? null : [...drift.slope_ci],
    };
  };
  return { x: of(0), y: of(1), z: of(2), ...radii };
}

/** Attitude against the setpoint's over the cycles, and its part in step with the arm; else over the hold. */
function attitudeOf(run: AlignedRun, settings: Settings): RunEvaluation["attitude"] {
  const cycles = cycleWindow(run);
  const window = cycles ?? run.hold;
  if (window === null || run.vehicle === null || run.setpoint === null) return null;
  const a = lowerBound(run.vehicle.t, window[0]);
  const b = lowerBound(run.vehicle.t, window[1]);
  const { t, qx, qy, qz, qw } = run.vehicle;
  const measured = { qx: qx.subarray(a, b), qy: qy.subarray(a, b), qz: qz.subarray(a, b), qw: qw.subarray(a, b) };
  const angles = attitudeAngles(measured, sampleAttitudes(run.setpoint, t.subarray(a, b)));
  const figures = attitudeError(angles);
  if (figures === null) return null;
  const { roll, pitch, yaw, rows } = angles;
  const split =
    cycles === null || run.period === null
      ? null
      : splitIn(
          Float64Array.from(rows, (row) => t[a + row]!),
          [roll, pitch, yaw],
          run,
          settings,
          null,
        );
  const of = (axis: number, own: { sd: number; rms: number }) => ({
    ...own,
    harmonics: split?.[axis]?.harmonics ?? null,
  });
  return { ...figures, roll: of(0, figures.roll), pitch: of(1, figures.pitch), yaw: of(2, figures.yaw) };
}
