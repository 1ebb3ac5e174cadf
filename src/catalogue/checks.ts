import type { Check, CheckCode, Touch } from "../foundation/checks.ts";
import { axes, type SignalName, subjects } from "../foundation/signals.ts";

const everything: Touch = { subjects, axes, windows: ["cycles", "hold"], part: "all" };
const inCycles: Touch = { ...everything, windows: ["cycles"] };
const inHold: Touch = { ...everything, windows: ["hold"] };
const bias: Touch = { ...everything, part: "bias" };
const nothing: Touch = { ...everything, part: "nothing" };

/**
 * What each finding can have moved, where the finding itself says nothing narrower. While the command rests, a wrong clock
 * moves nothing; a constant offset moves the rms, but neither sd, range nor what is in step with the arm.
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
  "clock-apart": inCycles,
  "delay-apart": inCycles,
  "wrong-trajectory": inCycles,
  "missing-signal": everything,
  "log-unreadable": everything,
  "few-cycles": inCycles,
  "short-hold": inHold,
  "low-rate": everything,
  copied: everything,
  runaway: everything,
  saturated: everything,
  sag: everything,
  "at-noise": everything,
  recovered: everything,
  confounded: everything,
  "frame-suspect": bias,
  "shared-rate": inCycles,
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
    default:
      return subjects;
  }
}

/** What a finding can have moved: what its code can, as far as the finding itself does not say less. A note moves nothing. */
export function touchOf({ code, severity, touches }: Pick<Check, "code" | "severity" | "touches">): Touch {
  return severity === "note" ? nothing : { ...checkTouches[code], ...touches };
}
