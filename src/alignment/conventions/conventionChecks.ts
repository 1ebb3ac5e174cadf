import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { SignalName, Subject } from "../../foundation/signals.ts";
import type { PoseTrack, Window } from "../../foundation/tracks.ts";
import { gatherBy } from "../../numeric/gather.ts";
import type { SubjectTrack } from "../subjectTracks.ts";
import type { PreparedSignal } from "../timedSignals.ts";
import { directionCheck } from "./directionCheck.ts";
import { gyroCheck } from "./gyroCheck.ts";
import { takeOffCheck } from "./takeOffCheck.ts";
import { yawUnitCheck } from "./yawUnitCheck.ts";

/** By how much clocks that were joined may still be apart, seconds: a delay of the estimator, a driver's latency. */
const clockSlack = 0.3;

/** Axes and units against physics: where the motion goes, about what it turns, and which way is up. */
export function conventionChecks(
  {
    prepared,
    markers,
    tilted,
    subjects,
    frame,
    scored,
    hold,
    onRun,
  }: {
    prepared: ReadonlyMap<SignalName, PreparedSignal>;
    markers: PoseTrack;
    /** whether their attitude was measured, roll and pitch too */
    tilted: boolean;
    subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
    frame: "world" | "vehicle" | "arm_base";
    scored: Window | null;
    hold: Window | null;
    onRun: (signal: PreparedSignal, t: Float64Array) => Float64Array;
  },
  settings: Settings,
): Check[] {
  const arm = frame === "world" ? "effector" : "arm";
  const rate = prepared.get("vehicle_rate");
  const { wx, wy, wz } = rate?.signal.columns ?? {};
  const inOrder = rate === undefined ? null : gatherBy(rate.timeline.order);
  return [
    ...(["vehicle", arm] as const).flatMap((subject) =>
      subjects[subject] === undefined ? [] : directionCheck(subject, subjects[subject], scored, settings),
    ),
    ...(!tilted || rate === undefined || inOrder === null || !wx || !wy || !wz
      ? []
      : gyroCheck(
          markers,
          {
            t: onRun(rate, rate.timeline.t),
            wx: inOrder(wx),
            wy: inOrder(wy),
            wz: inOrder(wz),
            topic: rate.signal.topic,
          },
          clockSlack,
          settings,
        )),
    ...takeOffCheck(markers, scored ?? hold, settings),
    ...(["vehicle_setpoint", "effector_command"] as const).flatMap((name) => yawUnitCheck(prepared.get(name)?.signal)),
  ];
}
