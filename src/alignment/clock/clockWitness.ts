import type { RunGrounds } from "../../contract/runGrounds.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { SignalName } from "../../foundation/tracks.ts";
import { estimateClock } from "./estimateClock.ts";
import { commonWindow, standardErrorAt } from "./expectedOffset.ts";
import type { MotionSight } from "./motionSight.ts";
import { offsetAnywhere } from "./offsetAnywhere.ts";
import { type SightKind, sightKind, sightsOf, sourceWords, type TimedSignal, unturned, yawAlone } from "./sights.ts";

/** What two signals of one motion say of the clocks in force. */
export interface ClockWitness {
  readonly pair: readonly [SignalName, SignalName];
  readonly kind: SightKind;
  /** the pose's stamp minus the other's of the same instant, beyond what is declared or assumed, mid-record, seconds */
  readonly apart: number;
  readonly standardError: number;
  /** steps of one clock against the other within the run, where a gyro shows them */
  readonly steps: readonly Check[];
  /** whether this pair is what the clock was found by, so that it agrees by construction */
  readonly isOwn: boolean;
}

/** The signals that show the vehicle's motion beside the capture, the most trustworthy first. */
const others = ["vehicle_rate", "vehicle_estimate"] as const;

/**
 * What the vehicle's own sensors say of the clock of the capture, in every run in which they show its motion too, however the
 * clock is known: declared, found by another pair, or not thought of because all signals are taken to be on one.
 *
 * Nothing is moved. The gyro is asked first; an estimate, which lags by its own filter, only where there is no gyro or its
 * motion shows nothing.
 *
 * @param onRun  brings a signal's instants to seconds since the run's epoch, by the clocks in force
 * @returns null where no second sight of the motion is there, or the motion does not show the offset
 */
export function clockWitness(
  campaign: RunGrounds,
  signals: ReadonlyMap<SignalName, TimedSignal>,
  onRun: (timed: TimedSignal, t: Float64Array) => Float64Array,
  settings: Settings,
): ClockWitness | null {
  const pose = signals.get("vehicle_pose");
  if (pose === undefined || pose.poses === null || pose.poses.t.length < 2) return null;
  const rule = campaign.clocks.others[pose.clock];
  for (const name of others) {
    const other = signals.get(name);
    if (other === undefined || other.timeline.t.length < 2) continue;
    const pair = ["vehicle_pose", name] as const;
    if (rule?.kind === "same-motion" && pair.every((signal) => rule.pair.includes(signal)))
      return { pair, kind: sightKind(pose, other), apart: 0, standardError: 0, steps: [], isOwn: true };
    const kind = sightKind(pose, other);
    if (kind === "gyro" && unturned(pose, other) !== null) continue;
    const sights = sightsOf([pose, other], kind, onRun);
    const found = sights.every(({ t }) => t.length > 1 && Number.isFinite(t[0]!))
      ? apartOf(sights, kind, pair, settings.clock_search, settings)
      : null;
    if (found !== null) return { pair, kind, ...found, isOwn: false };
  }
  return null;
}

/**
 * Two sights that agree less than this (0 to 1) at their best are too noisy to contradict a clock: below, the errors of simulated
 * flights in calm air went up to seven stated standard errors (positions, whose noise is as large as what a hover moves), above
 * they stayed below three.
 */
const leastAgreement: Readonly<Record<SightKind, number>> = { gyro: 0.5, attitude: 0.5, position: 0.8 };

/**
 * By how much the first of two sights on one time lags the second, in the middle of what they have in common.
 *
 * @param agreed  least agreement at their best, 0 to 1
 */
export function apartOf(
  sights: readonly [MotionSight, MotionSight],
  kind: SightKind,
  pair: readonly [SignalName, SignalName],
  search: number,
  settings: Settings,
  agreed = leastAgreement[kind],
): { apart: number; standardError: number; steps: Check[] } | null {
  const what = { clock: "", signals: pair, epochs: 0 };
  const about = (near: number) =>
    estimateClock(
      `of ${pair[0]} (against ${pair[1]})`,
      kind,
      ...sights,
      { near, search, where: "", anywhere: false, hint: "", ...what },
      settings,
    );
  let { estimate, covariance, agreement, checks } = about(0);
  if (estimate === null) {
    const found = offsetAnywhere(...sights, what, settings);
    if (found.offset !== null) ({ estimate, covariance, agreement, checks } = about(found.offset));
  }
  if (estimate === null || covariance === null || agreement < agreed) return null;
  const { offset, skew } = estimate;
  const [from, to] = commonWindow(...sights, offset);
  const middle = 0.5 * (from + to);
  const steps = kind === "gyro" ? checks.filter(({ code }) => code === "clock-step") : [];
  return { apart: offset + skew * middle, standardError: standardErrorAt(covariance, middle), steps };
}

/**
 * `clock-apart`: two signals of one motion contradict the clocks in force. What is declared or assumed stays in force; the
 * doubt says by how much it is wrong.
 *
 * Ten milliseconds by a gyro, whose low-pass filter delays it by some (a second-order one at 30 Hz by 7 ms), and a capture
 * that comes by network by some more; twenty by an estimate, which lags by its own filter as well. At 0.25 m/s these are
 * 2.5 and 5 mm. And well clear of the standard error.
 *
 * @param setpointMoves  whether the vehicle's setpoint moves in the scored window
 */
export function clockApart(
  campaign: RunGrounds,
  signals: ReadonlyMap<SignalName, TimedSignal>,
  witness: ClockWitness | null,
  setpointMoves: boolean,
  settings: Settings,
): Check[] {
  if (witness === null) return [];
  const { pair, kind, apart, standardError } = witness;
  const least = kind === "gyro" ? settings.clock_apart : settings.clock_apart_estimate;
  if (!(Math.abs(apart) > Math.max(least, settings.clock_apart_standard_errors * standardError)))
    return [...witness.steps];
  const [pose, other] = pair.map((name) => signals.get(name)!) as [TimedSignal, TimedSignal];
  const { clock } = pose;
  const rule = campaign.clocks.others[clock];
  const assumed = clock === other.clock;
  const declared = rule?.kind === "offset" ? rule.offset : 0;
  const source = `${sourceWords[kind]}${kind !== "position" && yawAlone([pose, other]) ? "; by the yaw alone" : ""}`;
  const milliseconds = (seconds: number): string => (1e3 * seconds).toFixed(1);
  const held = assumed
    ? "both are taken to be on one clock"
    : rule?.kind === "offset"
      ? `the offset of clock ${clock} is declared as ${milliseconds(declared)} ms`
      : `the clock ${clock} was found by ${rule?.kind === "same-motion" ? rule.pair.join(" and ") : "other signals"}`;
  return [
    ...witness.steps,
    {
      code: "clock-apart",
      severity: "doubt",
      message: `${held}, but the stamps of ${pair[0]} lie ${milliseconds(Math.abs(apart))} ms (standard error ${milliseconds(standardError)} ms) ${apart > 0 ? "after" : "before"} those of ${pair[1]} at the same instant of the motion: ${source}`,
      evidence: {
        clock,
        apart_s: apart,
        apart_se_s: standardError,
        held_by: assumed ? "assumed" : rule?.kind === "offset" ? "declared" : "same_motion",
        ...(rule?.kind === "offset"
          ? { declared_s: declared, from_motion_s: declared + apart, from_motion_se_s: standardError }
          : {}),
        source,
      },
      hint: assumed
        ? `give the capture a clock of its own (\`clock: mocap\` on its signals, \`clock: onboard\` on the others) and let \`clocks: { reference: onboard, mocap: { same_motion: [${pair.join(", ")}] } }\` find the offset`
        : `check its sign (that clock's stamp minus the reference clock's), or let \`same_motion: [${pair.join(", ")}]\` find it`,
      // a setpoint that rests is the same at any instant
      ...(setpointMoves ? {} : { touches: { subjects: ["effector", "arm"] } }),
    },
  ];
}
