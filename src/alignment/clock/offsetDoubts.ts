import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import type { ClockStep } from "./clockStep.ts";
import { standardErrorAt } from "./expectedOffset.ts";
import type { RefinedOffset } from "./refineOffset.ts";

/**
 * An offset that is found but not to be relied on: its clock was set within the run, drifts by more than clocks do, or the
 * motion is too small to tell it.
 *
 * @param refined  offset and skew at the run's start
 * @param step     the step that best explains what they leave
 * @param common   what both sights have in common, seconds after it
 */
export function offsetDoubts(
  name: string,
  refined: RefinedOffset,
  common: Window,
  step: ClockStep | null,
  settings: Settings,
): Check[] {
  const stepped = stepCheck(name, step, settings);
  // a step explains a drift
  if (stepped.length > 0) return stepped;
  const unsteady = unsteadyCheck(name, refined, settings);
  return unsteady.length > 0 ? unsteady : vagueCheck(name, refined, common, settings);
}

function stepCheck(name: string, step: ClockStep | null, settings: Settings): Check[] {
  if (step === null) return [];
  const { at, size, standardError } = step;
  if (!(Math.abs(size) > Math.max(settings.clock_step, settings.clock_step_standard_errors * standardError))) return [];
  return [
    {
      code: "clock-step",
      severity: "doubt",
      message: `clock ${name} was set ${size > 0 ? "forward" : "back"} by ${(1e3 * Math.abs(size)).toFixed(1)} ms (standard error ${(1e3 * standardError).toFixed(1)} ms) about ${at.toFixed(0)} s after the run's start: one offset fits neither what was before nor what came after`,
      evidence: { clock: name, step_s: size, step_se_s: standardError, at_s: at },
      hint: "let no time service step a clock during a flight; cut the run by `span`, before or after the step",
    },
  ];
}

/** A clock that was set again within the run looks like one that runs fast or slow by more than any does. */
export function isUnsteady({ skew, skewStandardError }: RefinedOffset, settings: Settings): boolean {
  return Math.abs(skew) - settings.clock_skew_standard_errors * skewStandardError > settings.clock_skew;
}

function unsteadyCheck(name: string, refined: RefinedOffset, settings: Settings): Check[] {
  if (!isUnsteady(refined, settings)) return [];
  const { skew, skewStandardError } = refined;
  return [
    {
      code: "clock-ambiguous",
      severity: "doubt",
      message: `clock ${name} seems to run ${skew > 0 ? "fast" : "slow"} by ${(1e6 * Math.abs(skew)).toFixed(0)} ppm (standard error ${(1e6 * skewStandardError).toFixed(0)}), more than clocks do: it was set again within the run, and the offset fits neither what was before nor what came after, or the motion is too small to tell`,
      evidence: { clock: name, skew, skew_se: skewStandardError, most_believed: settings.clock_skew },
      hint: "let no time service step a clock during a flight; cut the run by span: before or after the step, or look at the stamps with `inspect`",
    },
  ];
}

/** An offset whose error would move the error of a moving vehicle; at 0.25 m/s 5 ms are 1.3 mm. */
function vagueCheck(name: string, refined: RefinedOffset, [from, to]: Window, settings: Settings): Check[] {
  const { skew, skewStandardError, covariance } = refined;
  const middle = standardErrorAt(covariance, 0.5 * (from + to));
  const end = Math.max(standardErrorAt(covariance, from), standardErrorAt(covariance, to));
  // with a drift that no clock has, what the ends say is not drift but error
  const isVague =
    middle > settings.clock_vague || (Math.abs(skew) > settings.clock_skew && end > settings.clock_vague_end);
  if (!isVague) return [];
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  const drift =
    Math.abs(skew) > settings.clock_skew
      ? `, and a drift of ${(1e6 * skew).toFixed(0)} ppm (standard error ${(1e6 * skewStandardError).toFixed(0)}), more than clocks have, stands for it`
      : "";
  return [
    {
      code: "clock-ambiguous",
      severity: "doubt",
      message: `the offset of clock ${name} is known poorly: its standard error is ${milliseconds(middle)} ms in the middle of the record and ${milliseconds(end)} ms at an end${drift}; at 0.25 m/s each 4 ms are 1 mm`,
      evidence: { clock: name, offset_se_middle_s: middle, offset_se_end_s: end, skew, skew_se: skewStandardError },
      hint: "the motion is too small against the noise of the sights: turn the vehicle by hand before take-off or fly short turns as marks, keep the recording on through take-off and landing, or stamp all on one clock",
    },
  ];
}
