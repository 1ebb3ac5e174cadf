import type { PointTrack, PoseTrack, Subject } from "../../foundation/tracks.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { hasAttitude, hasTilt, pointUnplaced, vehicleUnturned } from "../attitude.ts";
import { pointOnBody, withControlPoint } from "../frames.ts";
import { armTrack, effectorTrack, type SubjectTrack, vehicleTrack } from "../subjectTracks.ts";
import type { Step } from "./Alignment.ts";
import type { Commanded, Setpointed } from "./placeCommands.ts";
import type { Clocked, Given, Posed, Taken } from "./placeOnClock.ts";

export interface Pointed {
  /** whether the vehicle's attitude was measured; and its roll and pitch too */
  readonly turned: boolean;
  readonly tilted: boolean;
  /** body point with the vehicle's attitude, world */
  readonly vehicle: PoseTrack;
  /** tool point, world; null where it was not captured or cannot be placed */
  readonly tool: PointTrack | null;
}

/** The control points on their bodies. One away from what was captured needs the attitude. */
export const placePoints: Step<Given & Taken & Clocked & Posed, Pointed> = (record) => {
  const { campaign, prepared, pose, markers, toolMarkers } = record;
  const { bodyPoint, toolPoint } = campaign.frames;
  const tilted = hasTilt(pose);
  if (!tilted && isAway(bodyPoint)) return { adds: null, checks: [pointUnplaced(pose, "body_point", bodyPoint)] };
  const bodies = { turned: hasAttitude(pose), tilted, vehicle: withControlPoint(markers, bodyPoint) };
  const effector = prepared.get("effector_pose");
  if (toolMarkers === null || effector === undefined) return { adds: { ...bodies, tool: null }, checks: [] };
  if (isAway(toolPoint) && !hasTilt(effector)) {
    return { adds: { ...bodies, tool: null }, checks: [pointUnplaced(effector, "tool_point", toolPoint)] };
  }
  return { adds: { ...bodies, tool: pointOnBody(toolMarkers, toolPoint) }, checks: [] };
};

export interface Tracked {
  readonly subjects: Readonly<Partial<Record<Subject, SubjectTrack>>>;
  /** median interval of the effector's samples, seconds; NaN where there are none */
  readonly effectorInterval: number;
}

/** What each subject did against what it was asked to do. */
export const trackSubjects: Step<Given & Taken & Pointed & Setpointed & Commanded, Tracked> = (record) => {
  const { campaign, prepared, settings, pose, tilted, vehicle, tool, setpoint, command, frame } = record;
  const subjects: Partial<Record<Subject, SubjectTrack>> = { vehicle: vehicleTrack(vehicle, setpoint) };
  const effectorInterval = prepared.get("effector_pose")?.interval ?? Number.NaN;
  if (tool !== null && command !== null) {
    subjects.effector = effectorTrack(tool, command, setpoint, frame, campaign.frames);
    if (tilted) subjects.arm = armTrack(vehicle, tool, command, frame, campaign.frames, effectorInterval, settings);
  }
  return {
    adds: { subjects, effectorInterval },
    checks: tilted ? [] : [vehicleUnturned(pose, subjects.effector !== undefined)],
  };
};

function isAway(point: Vector3): boolean {
  return point.some((metres) => metres !== 0);
}
