import type { AlignedRun } from "../alignment/alignRun.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { responseDelay } from "../metrics/responseDelay.ts";

/** How far to either side of the command its motion is looked for, seconds, and at least so many cycles. */
const widest = 3;
const cycles = 1.6;

/**
 * `clock-apart` by the arm alone: where its motion starts and stops before its command does, or more than `delay_to` after it,
 * the stamps of command and capture are not of one clock. Cyclic motion fits its command one cycle late nearly as well; the
 * starts and stops do not.
 *
 * The offset itself cannot be told from a delay: what is said is that no delay is like that.
 */
export function startStopCheck({ subjects, period }: AlignedRun, settings: Settings): Check[] {
  const track = subjects.arm;
  if (track === undefined) return [];
  const { t, measured, command } = track;
  const reach = Math.max(widest, cycles * (period ?? 0));
  const lag = responseDelay(
    {
      t,
      measured: [measured.x, measured.y, measured.z],
      commandTimes: command.t,
      command: [command.x, command.y, command.z],
    },
    // a rival that explains nearly as much is what a cycle's start and stop tell apart: a tenth of it is enough
    { from: -reach, to: reach, rival: settings.delay_rival, leastMotion: settings.start_stop_motion },
  );
  if (lag === null || (lag > -settings.start_stop_lead && lag < settings.delay_to)) return [];
  const milliseconds = (1e3 * Math.abs(lag)).toFixed(0);
  return [
    {
      code: "clock-apart",
      severity: "doubt",
      message: `the arm starts and stops ${milliseconds} ms ${lag < 0 ? "before" : "after"} its command does, which no arm does: the clocks of capture and command are apart, by that and the arm's own delay`,
      evidence: { subject: "arm", lag_s: lag, held_by: "start and stop", period_s: period },
      hint: "look at the sign of a declared `offset`, and whether it is out by a cycle; log a gyro and let `same_motion: [vehicle_pose, vehicle_rate]` find it",
      touches: { subjects: ["effector", "arm"] },
    },
  ];
}
