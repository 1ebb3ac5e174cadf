import type { SignalName } from "../../foundation/tracks.ts";
import type { SignalDraft } from "./CampaignSketch.ts";
import { type Candidate, draftOf } from "./candidates.ts";

/** What serves a signal, or what it lies between where it is to be asked for. */
export interface RoleDraft {
  /** null: nothing showed which of `also` it is */
  readonly chosen: Candidate | null;
  readonly also: readonly string[];
  /** what is asked for where nothing stated: default a topic */
  readonly asks?: "topic" | "columns" | "markers";
  readonly parts: readonly string[];
  readonly remarks: readonly string[];
  /** those that its motion beside another's gave away, by group */
  readonly units?: Readonly<Record<string, string>>;
  /** where the arm's command seems to count from, in the vehicle's frame: beside the question for `arm_base` */
  readonly armBase?: string;
}

/**
 * Signals of a log whose world has z down, as a take-off showed it: which world it is is asked once. The gyro's y and z point down as
 * well where it turns as the body does.
 */
export function withWorldDown(signals: readonly SignalDraft[]): SignalDraft[] {
  const turned: readonly SignalName[] = ["vehicle_pose", "effector_pose", "vehicle_setpoint", "vehicle_estimate"];
  return signals.map((draft) => {
    if (turned.includes(draft.signal)) return { ...draft, down: true };
    if (draft.signal !== "vehicle_rate") return draft;
    const parts = draft.parts.filter((part) => part !== gyroDown);
    return parts.length < draft.parts.length ? { ...draft, parts, remarks: [] } : { ...draft, down: true };
  });
}

/** Of a gyro that counts forward, right, down. */
export const gyroDown = "axes: { body: frd }";

/** More names than these no person reads in a comment. */
const mostNames = 8;

/** The lines of a manifest's `signals`. */
export function draftSignals(roles: ReadonlyMap<SignalName, RoleDraft>): SignalDraft[] {
  return [...roles].map(([signal, { chosen, also, asks = "topic", parts, remarks, units = {}, armBase }]) => {
    const names = `${also.slice(0, mostNames).join(", ")}${also.length > mostNames ? ` and ${also.length - mostNames} more` : ""}`;
    if (chosen === null)
      return {
        signal,
        place: "asked",
        parts: [`${asks}: <${asks.toUpperCase()}>`, ...parts],
        remarks: [`nothing in the log tells which: ${names}`, ...remarks],
        down: false,
        clock: null,
        rate: null,
      };
    return draftOf(signal, chosen, {
      parts,
      units,
      armBase,
      remarks: [...remarks, ...(also.length > 0 ? [`also: ${names}`] : [])],
    });
  });
}
