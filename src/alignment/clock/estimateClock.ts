import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { axes } from "../../foundation/signals.ts";
import { type CoarseOffset, coarseOffset, coarseStep } from "./coarseOffset.ts";
import type { MotionSight } from "./motionSight.ts";
import { gridRates, type RateGrid } from "./rateGrid.ts";
import { type RefinedOffset, refineOffset } from "./refineOffset.ts";

/** How one clock relates to the reference clock. `offset` = its stamp minus the reference stamp at the run's start. */
export interface ClockEstimate {
  readonly offset: number;
  readonly offset_se: number | null;
  /** growth of the offset per second */
  readonly skew: number;
  readonly skew_se: number | null;
  readonly source: string;
  readonly second_peak_ratio: number | null;
  readonly ambiguous: boolean;
}

/** [variance of the offset at the run's start, covariance with the skew, variance of the skew] */
export type OffsetCovariance = readonly [number, number, number];

/** A smaller standard error must be smaller by this factor to be believed: the least of three would be too sure of itself. */
const worthwhile = 0.8;

/** The kinds of sight, from the most to the least trustworthy. */
export type SightKind = "gyro" | "attitude" | "position";

const sourceWords: Record<SightKind, string> = {
  gyro: "gyro against the body rate of the captured attitude",
  attitude: "attitude against attitude; includes any delay of the estimator",
  position: "position against position; includes any delay of the estimator",
};

/**
 * Offset and skew of a clock from two sights of one motion, with their uncertainty, or the reason why not.
 *
 * @param that       sight on the other clock, seconds after `that`'s epoch
 * @param reference  sight on the reference clock, seconds after the run's epoch
 * @param options.near    expected offset between the two columns, seconds
 * @param options.search  half width of the search, seconds
 * @returns `estimate` null where the tool refuses to pick; the checks say why. `offset` is between the two columns:
 *   the caller adds the difference of the epochs.
 */
export function estimateClock(
  name: string,
  kind: SightKind,
  that: MotionSight,
  reference: MotionSight,
  options: { near: number; search: number; signals: readonly [string, string]; nearDeclared: boolean },
  settings: Settings,
): { estimate: ClockEstimate | null; covariance: OffsetCovariance | null; checks: Check[] } {
  const smoothing = settings.clock_smoothing;
  const a = gridRates(reference, settings.clock_grid, smoothing);
  const b = gridRates(that, settings.clock_grid, smoothing);
  const refuse = (check: Check) => ({ estimate: null, covariance: null, checks: [check] });
  const coarse = coarseOffset(b, a, {
    near: options.near,
    search: options.search,
    overlap: settings.clock_overlap,
    smoothing,
  });
  const what = `${options.signals[0]} (clock ${name}) and ${options.signals[1]} (reference clock)`;
  if (coarse === null) return refuse(noOverlap(name, what, options, settings));
  if (Math.abs(coarse.offset - options.near) > options.search - 0.5 * coarseStep) {
    return refuse(atEdge(name, what, options, coarse.offset));
  }
  if (coarse.agreement < settings.clock_agreement)
    return refuse(noAgreement(name, what, options, coarse.agreement, coarse.axes));
  const ambiguous =
    coarse.secondPeakRatio > settings.clock_second_peak ||
    (coarse.secondPeakRatio > settings.clock_rival_peak && coarse.logLikelihood < settings.clock_log_likelihood);
  if (ambiguous) {
    return refuse({
      code: "clock-ambiguous",
      severity: "unusable",
      message: `the offset of clock ${name} cannot be told: another offset explains the motion nearly as well (second peak ${(100 * coarse.secondPeakRatio).toFixed(1)} % of the first)`,
      evidence: {
        clock: name,
        second_peak_ratio: coarse.secondPeakRatio,
        log_likelihood_ahead: coarse.logLikelihood,
        offset_tried_s: coarse.offset,
      },
      hint: "cyclic motion repeats itself: narrow `search`, give `near`, record the starts and stops, or fly a short turn by hand as a mark",
    });
  }
  const refinement = refine(that, reference, b, a, coarse, settings);
  if (refinement === null) return refuse(noAgreement(name, what, options, coarse.agreement, coarse.axes));
  const { refined } = refinement;
  const checks = axesCheck(name, refinement, coarse.axes, settings);
  return {
    estimate: {
      offset: refined.offset,
      offset_se: refined.offsetStandardError,
      skew: refined.skew,
      skew_se: refined.skewStandardError,
      source: sourceWords[kind],
      second_peak_ratio: coarse.secondPeakRatio,
      ambiguous: false,
    },
    covariance: refined.covariance,
    checks,
  };
}

/**
 * Refines at half, once and twice the usual smoothing, keeps what is most certain, and refines that once more on a grid
 * twice as fine: how much smoothing is best depends on how fast the vehicle moves and how noisy the capture is, and
 * neither is known beforehand.
 */
function refine(
  that: MotionSight,
  reference: MotionSight,
  thatGrid: RateGrid,
  referenceGrid: RateGrid,
  coarse: CoarseOffset,
  settings: Settings,
): Refinement | null {
  const at = (smoothing: number, step: number, start: RefinedOffset, passes?: number): Refinement | null => {
    const grids = { that: gridRates(that, step, smoothing), reference: gridRates(reference, step, smoothing) };
    const refined = refineOffset(grids.that, grids.reference, start, 0, undefined, passes);
    return refined === null ? null : { refined, ...grids };
  };
  const usual = refineOffset(thatGrid, referenceGrid, coarse, 0);
  if (usual === null) return null;
  let best: { refined: RefinedOffset; smoothing: number } = { refined: usual, smoothing: settings.clock_smoothing };
  for (const factor of [0.5, 2]) {
    const smoothing = factor * settings.clock_smoothing;
    const refined = at(smoothing, settings.clock_grid, usual, 2)?.refined;
    if (refined && refined.offsetStandardError < worthwhile * best.refined.offsetStandardError) {
      best = { refined, smoothing };
    }
  }
  return (
    at(best.smoothing, settings.clock_grid / 2, best.refined) ?? {
      refined: usual,
      that: thatGrid,
      reference: referenceGrid,
    }
  );
}

interface Refinement {
  readonly refined: RefinedOffset;
  readonly that: RateGrid;
  readonly reference: RateGrid;
}

function noOverlap(
  name: string,
  what: string,
  options: { near: number; search: number; nearDeclared: boolean },
  settings: Settings,
): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} have less than ${settings.clock_overlap} s in common at any offset within ${options.search} s of ${options.near.toFixed(3)} s`,
    evidence: { clock: name, near_s: options.near, search_s: options.search },
    hint: options.nearDeclared
      ? "check `near`, or widen `search`"
      : "the clocks may be further apart: give `near`, or widen `search`",
  };
}

function atEdge(name: string, what: string, options: { near: number; search: number }, offset: number): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} agree best at the edge of the search, ${offset.toFixed(3)} s: the offset lies beyond ${options.search} s from ${options.near.toFixed(3)} s`,
    evidence: { clock: name, near_s: options.near, search_s: options.search, edge_s: offset },
    hint: "widen `search`, or correct `near`",
  };
}

function noAgreement(
  name: string,
  what: string,
  options: { near: number; search: number },
  agreement: number,
  perAxis: readonly number[],
): Check {
  return {
    code: "clock-ambiguous",
    severity: "unusable",
    message: `${what} do not show the same motion at any offset within ${options.search} s of ${options.near.toFixed(3)} s (agreement ${agreement.toFixed(2)} of 1)`,
    evidence: { clock: name, agreement, agreement_x: perAxis[0]!, agreement_y: perAxis[1]!, agreement_z: perAxis[2]! },
    hint: "check that both signals belong to this vehicle and run, the axes of the gyro (body frame, rad/s) and the quaternion order; or give `near` and a wider `search`",
  };
}

function axesCheck(
  name: string,
  { refined, that, reference }: Refinement,
  agreement: readonly number[],
  settings: Settings,
): Check[] {
  const middle = reference.start + 0.5 * reference.known.length * reference.step;
  const perAxis = axes.map((_, axis) => refineOffset(that, reference, refined, middle, [axis]));
  let worst: { pair: string; difference: number; error: number } | null = null;
  for (let i = 0; i < 3; i++) {
    for (let j = i + 1; j < 3; j++) {
      const a = perAxis[i];
      const b = perAxis[j];
      if (!a || !b) continue;
      const difference = a.offset - b.offset;
      const error = Math.hypot(a.offsetStandardError, b.offsetStandardError);
      const significant = Math.abs(difference) > settings.clock_axes_standard_errors * error;
      if (
        significant &&
        Math.abs(difference) > settings.clock_axes_seconds &&
        Math.abs(difference) > Math.abs(worst?.difference ?? 0)
      ) {
        worst = { pair: `${axes[i]} and ${axes[j]}`, difference, error };
      }
    }
  }
  const contrary = axes.filter((_, axis) => agreement[axis]! < -0.3);
  if (worst === null && contrary.length === 0) return [];
  const message =
    contrary.length > 0
      ? `about axis ${contrary.join(", ")} the two sights of clock ${name} turn in opposite directions`
      : `the offset of clock ${name} differs between axes ${worst!.pair} by ${(1e3 * worst!.difference).toFixed(1)} ms (standard error ${(1e3 * worst!.error).toFixed(1)} ms)`;
  return [
    {
      code: "clock-axes-disagree",
      severity: "doubt",
      message,
      evidence: {
        clock: name,
        offset_x_s: perAxis[0]?.offset ?? null,
        offset_y_s: perAxis[1]?.offset ?? null,
        offset_z_s: perAxis[2]?.offset ?? null,
        agreement_x: agreement[0]!,
        agreement_y: agreement[1]!,
        agreement_z: agreement[2]!,
      },
      hint: "check the axes of both sights (handedness, quaternion order, mounting of the gyro) and whether one of them is filtered",
    },
  ];
}
