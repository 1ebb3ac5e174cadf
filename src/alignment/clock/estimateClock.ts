import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { axes } from "../../foundation/tracks.ts";
import { askew, atEdge, noAgreement, noOverlap, otherFlight, strangeAxis } from "./ambiguousClock.ts";
import { clockStep } from "./clockStep.ts";
import { type CoarseOffset, coarseOffset, coarseStep } from "./coarseOffset.ts";
import { commonWindow, type OffsetSearch } from "./expectedOffset.ts";
import { type MotionSight, sightWithin } from "./motionSight.ts";
import { mountTurn, turnedBack } from "./mountTurn.ts";
import { isUnsteady, offsetDoubts } from "./offsetDoubts.ts";
import { gridRates, type RateGrid, type RawRates, rawRates, smoothRates } from "./rateGrid.ts";
import { type RefinedOffset, refineOffset } from "./refineOffset.ts";
import { type SightKind, sourceWords, turnedSight } from "./sights.ts";
import { withBelief } from "./skewBelief.ts";

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

/**
 * Offset and skew of a clock from two sights of one motion, with their uncertainty, or the reason why not.
 *
 * @param that       sight on the other clock, seconds after `that`'s epoch
 * @param whole      sight on the reference clock, seconds after the run's epoch
 * @returns `estimate` null where the tool refuses to pick; the checks say why. `offset` is between the two columns:
 *   the caller adds the difference of the epochs.
 */
export function estimateClock(
  name: string,
  kind: SightKind,
  that: MotionSight,
  whole: MotionSight,
  options: OffsetSearch,
  settings: Settings,
): { estimate: ClockEstimate | null; covariance: OffsetCovariance | null; agreement: number; checks: Check[] } {
  const smoothing = settings.clock_smoothing;
  // of a log that runs on for long, only what the other can have seen: over the rest no skew could be distinguished from an offset
  const reach = options.search + settings.clock_overlap;
  const first = (that.t[0] ?? 0) - options.near - reach;
  const reference = sightWithin(whole, first, (that.t.at(-1) ?? 0) - options.near + reach);
  const raw = { that: rawRates(that, settings.clock_grid), reference: rawRates(reference, settings.clock_grid) };
  const a = smoothRates(raw.reference, smoothing);
  const b = smoothRates(raw.that, smoothing);
  const turned = (near: number, search: number) => (kind === "position" ? null : turnedSight(b, a, near, search));
  const refuse = (check: Check) => ({ estimate: null, covariance: null, agreement: 0, checks: [check] });
  const coarse = coarseOffset(b, a, {
    near: options.near,
    search: options.search,
    overlap: settings.clock_overlap,
    smoothing,
  });
  const what = `${options.signals[0]} (clock ${name}) and ${options.signals[1]} (reference clock)`;
  if (coarse === null) return refuse(noOverlap(name, what, options, settings));
  const refusal = coarseRefusal(name, what, coarse, { options, turned, settings });
  if (refusal !== null) return refuse(refusal);
  const straight = refine(raw, { that: b, reference: a }, coarse, settings);
  if (straight === null) return refuse(noAgreement(name, what, options, coarse.agreement, coarse.axes));
  const refinement = kind === "position" ? straight : mounted(straight, settings);
  const { refined: shown, turnedBy } = refinement;
  const step = clockStep(refinement.that, refinement.reference, shown);
  const checks = [
    ...axesCheck(name, refinement, coarse.axes, settings),
    ...offsetDoubts(name, shown, commonWindow(that, reference, shown.offset), step, settings),
  ];
  const refined = isUnsteady(shown, settings) ? shown : withBelief(shown, settings.clock_skew_believed);
  return {
    estimate: {
      offset: refined.offset,
      offset_se: refined.offsetStandardError,
      skew: refined.skew,
      skew_se: refined.skewStandardError,
      source: `${sourceWords[kind]}${options.anywhere ? "; looked for wherever the two logs overlap" : ""}${turnedBy === 0 ? "" : `; with the axes of ${options.signals[0]} turned by ${((180 / Math.PI) * turnedBy).toFixed(1)} degrees, as the motion shows them mounted`}`,
      second_peak_ratio: coarse.secondPeakRatio,
      ambiguous: false,
    },
    covariance: refined.covariance,
    agreement: coarse.agreement,
    checks,
  };
}

/** Why the offset that was found on the coarse grid cannot be the clock's; null where it can. */
function coarseRefusal(
  name: string,
  what: string,
  coarse: CoarseOffset,
  {
    options,
    turned,
    settings,
  }: {
    readonly options: OffsetSearch;
    readonly turned: (near: number, search: number) => ReturnType<typeof turnedSight>;
    readonly settings: Settings;
  },
): Check | null {
  if (Math.abs(coarse.offset - options.near) > options.search - 0.5 * coarseStep) {
    return atEdge(name, what, options, coarse.offset);
  }
  if (coarse.agreement < settings.clock_agreement) {
    const turn = turned(options.near, options.search);
    if (turn !== null) return askew(name, what, turn);
    return noAgreement(name, what, options, coarse.agreement, coarse.axes);
  }
  const stranger = options.anywhere ? strangeAxis(coarse, settings) : null;
  if (stranger !== null) {
    const turn = turned(coarse.offset, 0);
    return turn === null ? otherFlight(name, what, coarse, stranger) : askew(name, what, turn);
  }
  const ambiguous =
    coarse.secondPeakRatio > settings.clock_second_peak ||
    (coarse.secondPeakRatio > settings.clock_rival_peak && coarse.logLikelihood < settings.clock_log_likelihood);
  if (ambiguous) {
    return {
      code: "clock-ambiguous",
      severity: "unusable",
      message: `the offset of clock ${name} cannot be found: another offset explains the motion nearly as well (second peak ${(100 * coarse.secondPeakRatio).toFixed(1)} % of the first)`,
      evidence: {
        clock: name,
        second_peak_ratio: coarse.secondPeakRatio,
        log_likelihood_ahead: coarse.logLikelihood,
        offset_tried_s: coarse.offset + options.epochs,
      },
      hint: "a clock that was set within the run fits before at one offset and after at another: cut the run by `span`, and let no time service step a clock in flight; or cyclic motion repeats itself: narrow `search`, give `near`, record the starts and stops, or fly a short turn by hand as a mark",
    };
  }
  return null;
}

/**
 * Refines at half, once and twice the usual smoothing, keeps what is most certain, and refines that once more on a grid
 * twice as fine: how much smoothing is best depends on how fast the vehicle moves and how noisy the capture is, and
 * neither is known beforehand.
 */
function refine(
  raw: { readonly that: RawRates; readonly reference: RawRates },
  grids: { readonly that: RateGrid; readonly reference: RateGrid },
  coarse: CoarseOffset,
  settings: Settings,
): Refinement | null {
  const usual = refineOffset(grids.that, grids.reference, coarse, 0);
  if (usual === null) return null;
  let best: { refined: RefinedOffset; smoothing: number } = { refined: usual, smoothing: settings.clock_smoothing };
  for (const factor of [0.5, 2]) {
    const smoothing = factor * settings.clock_smoothing;
    const [that, reference] = [smoothRates(raw.that, smoothing), smoothRates(raw.reference, smoothing)];
    const refined = refineOffset(that, reference, usual, 0, undefined, 2);
    if (refined !== null && refined.offsetStandardError < worthwhile * best.refined.offsetStandardError) {
      best = { refined, smoothing };
    }
  }
  const fine = {
    that: gridRates(raw.that.sight, settings.clock_grid / 2, best.smoothing),
    reference: gridRates(raw.reference.sight, settings.clock_grid / 2, best.smoothing),
  };
  const refined = refineOffset(fine.that, fine.reference, best.refined, 0);
  return refined === null ? { turnedBy: 0, refined: usual, ...grids } : { turnedBy: 0, refined, ...fine };
}

/**
 * An autopilot is seldom mounted just as its body was defined in the capture, and what leaks from one axis into another is late by
 * another loop: some degrees move the offset by milliseconds. A turn that the motion shows clearly is taken back, for the clock alone.
 */
function mounted(straight: Refinement, settings: Settings): Refinement {
  const found = mountTurn(straight.that, straight.reference, straight.refined);
  if (found === null) return straight;
  const { turn, standardErrors } = found;
  const size = Math.hypot(...turn);
  const isClear = turn.some(
    (angle, axis) => Math.abs(angle) > settings.clock_mount_standard_errors * standardErrors[axis]!,
  );
  if (!(size > settings.clock_mount && isClear)) return straight;
  const that = turnedBack(straight.that, turn);
  const refined = refineOffset(that, straight.reference, straight.refined, 0);
  return refined === null ? straight : { ...straight, that, refined, turnedBy: size };
}

interface Refinement {
  /** turn that was taken back between the axes of both sights, rad */
  readonly turnedBy: number;
  readonly refined: RefinedOffset;
  readonly that: RateGrid;
  readonly reference: RateGrid;
}

function axesCheck(
  name: string,
  { refined, that, reference }: Refinement,
  agreement: readonly number[],
  settings: Settings,
): Check[] {
  const middle = reference.start + 0.5 * reference.known.length * reference.step;
  // an axis about which little turns shows its noise: its error is then larger than it seems
  const perAxis = axes.map((_, axis) =>
    agreement[axis]! < settings.clock_axes_agreement ? null : refineOffset(that, reference, refined, middle, [axis]),
  );
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
      hint:
        contrary.length > 0
          ? "check the axes of both sights: handedness, quaternion order, mounting of the gyro"
          : "look at whether a filter delays one of the sights about one axis more than about the others",
    },
  ];
}
