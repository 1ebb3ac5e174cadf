import type { Check, CheckCode, Touch } from "../foundation/checks.ts";
import { axes, type SignalName, type Subject, subjects } from "../foundation/tracks.ts";
import { type CellAxis, type MeasureId, measureOf } from "./measures.ts";

const everything: Touch = { subjects, axes, windows: ["cycles", "hold"], part: "all" };
const inCycles: Touch = { ...everything, windows: ["cycles"] };
const inHold: Touch = { ...everything, windows: ["hold"] };
const bias: Touch = { ...everything, part: "bias" };
/** seen too seldom, the highest and lowest are missed; bias and spread are not */
const peaks: Touch = { ...everything, part: "peaks" };
const inStep: Touch = { ...inCycles, part: "synchronous" };
const nothing: Touch = { ...everything, part: "nothing" };

/**
 * What each finding can have moved, where the finding itself says nothing narrower. While the command rests, a wrong clock
 * moves nothing; a constant offset moves the rms, but neither sd, range nor what is in step with the arm.
 *
 * A sagging battery and a motor at its limit move nothing here: the error was truly flown, and is measured as it was. Why it
 * was flown, and with separate blocks whose doing it is, the audit and the reasons of a fragile verdict ask. What is missing
 * or was cut off moves no figure of what is left.
 */
export const checkTouches: Readonly<Record<CheckCode, Touch>> = {
  gap: everything,
  frozen: everything,
  jump: everything,
  swap: everything,
  "bad-quaternion": everything,
  "stamp-duplicate": inCycles,
  "stamp-backward": inCycles,
  "stamp-epoch": inCycles,
  "stamp-log-used": inCycles,
  "clock-ambiguous": inCycles,
  "clock-axes-disagree": inCycles,
  "clock-step": inCycles,
  "clock-apart": inCycles,
  "bodies-apart": inCycles,
  "delay-apart": inCycles,
  "wrong-trajectory": inCycles,
  "missing-signal": nothing,
  "log-unreadable": everything,
  "few-cycles": inCycles,
  "no-arrival": inCycles,
  "coarse-command": inCycles,
  "measured-command": everything,
  "uneven-error": everything,
  "short-hold": inHold,
  "low-rate": peaks,
  copied: everything,
  runaway: everything,
  saturated: nothing,
  sag: nothing,
  "at-noise": nothing,
  "noise-apart": everything,
  recovered: nothing,
  confounded: nothing,
  "frame-suspect": bias,
  "shared-rate": inStep,
  "constant-offset": bias,
  "moment-phase": nothing,
  "moment-too-large": nothing,
  // runs filed under the other configuration turn every claim round
  "moment-reversed": everything,
  "heading-apart": { ...everything, subjects: ["vehicle", "effector"], axes: ["x", "y"] },
};

/** The subjects whose errors rest on a signal: the effector's error does not know what the vehicle did, the arm's does. */
export function subjectsResting(on: SignalName): Touch["subjects"] {
  switch (on) {
    case "vehicle_pose":
      return ["vehicle", "arm"];
    case "effector_pose":
    case "effector_command":
      return ["effector", "arm"];
    case "vehicle_setpoint":
      return ["vehicle", "effector"];
    case "battery":
    case "motors":
    case "arm_effort":
      return [];
    default:
      return subjects;
  }
}

/** What a finding can have moved: what its code can, as far as the finding itself does not say less. A note moves nothing. */
export function touchOf({ code, severity, touches }: Pick<Check, "code" | "severity" | "touches">): Touch {
  return severity === "note" ? nothing : { ...checkTouches[code], ...touches };
}

/** What is compared, in the window it is taken from. */
export interface TouchedPlace {
  readonly subject: Subject;
  readonly axis: CellAxis;
  readonly metric: MeasureId;
  readonly window: "cycles" | "hold";
}

/** Whether a finding can have moved a figure. */
export function canMove(touch: Touch, { subject, axis, metric, window }: TouchedPlace): boolean {
  const { parts, taken = window } = measureOf(metric);
  return (
    (touch.part === "all" || parts.some((part) => part === touch.part)) &&
    touch.subjects.includes(subject) &&
    (axis === "norm" ? touch.axes.length > 0 : touch.axes.includes(axis)) &&
    touch.windows.includes(taken)
  );
}
