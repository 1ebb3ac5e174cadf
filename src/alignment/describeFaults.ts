import { subjectsResting } from "../catalogue/checks.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check, Severity, Touch } from "../foundation/checks.ts";
import type { PointTrack, PoseTrack, Subject, Window } from "../foundation/tracks.ts";
import type { CommandTrack } from "./commandTrack.ts";
import type { Fault } from "./poseFaults.ts";
import type { SubjectTrack } from "./subjectTracks.ts";
import { overlapWith } from "./validFraction.ts";

/**
 * Turns faults of a pose track into checks, graded by what they cost the scored window.
 *
 * @param toRun    the fault's clock to seconds since the run's epoch
 * @param scored   window the verdict is about; null where there is none
 * @param valid    share of the scored window with valid samples
 */
export function describeFaults(
  signal: "vehicle_pose" | "effector_pose",
  faults: readonly Fault[],
  toRun: (t: number) => number,
  scored: Window | null,
  valid: number,
  interval: number,
  settings: Settings,
): Check[] {
  return faults.map((fault) => {
    const stretches = fault.stretches.map(([a, b]) => [toRun(a), toRun(b)] as const);
    const longest = stretches.reduce((best, s) => (s[1] - s[0] > best[1] - best[0] ? s : best));
    const total = stretches.reduce((sum, [a, b]) => sum + b - a, 0);
    const inside = scored === null ? 0 : overlapWith(stretches, scored) + insideCount(stretches, scored) * interval;
    return {
      code: fault.code,
      severity: grade(fault, inside, longest[1] - longest[0], scored, valid, settings),
      message: `${signal}: ${fault.samples} ${fault.detail} in ${stretches.length} stretch${stretches.length === 1 ? "" : "es"}, the longest ${(longest[1] - longest[0]).toFixed(2)} s from ${longest[0].toFixed(2)} s`,
      evidence: {
        signal,
        samples: fault.samples,
        stretches: stretches.length,
        total_s: total,
        longest_s: longest[1] - longest[0],
        longest_from_s: longest[0],
        in_scored_window_s: inside,
        valid_fraction: valid,
        first_stretches_s: stretches.slice(0, 10).flatMap(([a, b]) => [round(a), round(b)]),
      },
      hint: fault.hint,
      touches: {
        subjects: subjectsResting(signal),
        ...partOf(fault, scored === null ? 0 : inside / (scored[1] - scored[0]), settings),
      },
    };
  });
}

/** What was lost is no longer scored: a little of it may have hidden the largest error, but no bias and no spread. */
function partOf(fault: Fault, share: number, settings: Settings): Partial<Touch> {
  return share < settings.lost_share && !isUnsure(fault) ? { part: "peaks" } : {};
}

/** What was kept may be as wrong as what was left out. */
function isUnsure({ code, unsure }: Fault): boolean {
  return code === "swap" || unsure === true;
}

function grade(
  fault: Fault,
  inside: number,
  longest: number,
  scored: Window | null,
  valid: number,
  settings: Settings,
): Severity {
  if (scored === null || inside <= 0) return "note";
  const share = inside / (scored[1] - scored[0]);
  if (valid < settings.valid_fraction && share > 0.02) return "unusable";
  if (isUnsure(fault)) return share > 0.002 || fault.samples >= 5 ? "doubt" : "note";
  return share > 0.01 || longest > 0.25 ? "doubt" : "note";
}

function insideCount(stretches: readonly (readonly [number, number])[], window: Window): number {
  return stretches.filter(([a, b]) => b >= window[0] && a < window[1]).length;
}

function round(seconds: number): number {
  return Math.round(seconds * 1000) / 1000;
}

/** What the checks of axes, units and roles look at. */
export interface FrameFacts {
  readonly vehicle: PoseTrack;
  /** whether its attitude was measured; else it reads as level */
  readonly turned: boolean;
  readonly tool: PointTrack | null;
  readonly setpoint: CommandTrack;
  readonly subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
  /** the frame of the arm's command: in the world it does not rest on the setpoint's attitude */
  readonly frame: "world" | "vehicle" | "arm_base";
  /** smallest difference of the effector that matters, and of the vehicle, metres; null where not declared */
  readonly smallest: number | null;
  readonly vehicleSmallest: number | null;
  /** stretch to look at; null: the whole run */
  readonly scored: Window | null;
}
