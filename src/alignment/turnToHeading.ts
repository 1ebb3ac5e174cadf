import type { PointTrack } from "../foundation/tracks.ts";
import type { Quaternion, Radians } from "../foundation/units.ts";
import type { AlignedRun } from "./alignRun.ts";
import { transformPoses } from "./frames.ts";
import type { Columns, SubjectTrack } from "./subjectTracks.ts";

/**
 * A run with what stands in the world seen in its heading: x forward, y left, z up, about the world's origin. One constant
 * turn about the vertical for the whole run, so that nothing of how the vehicle yaws is taken out of its errors. The arm is in
 * the vehicle's own frame already. A run without a heading stays as it is.
 */
export function turnToHeading(run: AlignedRun): AlignedRun {
  if (run.heading === null) return run;
  const { yaw } = run.heading;
  const { vehicle, effector, ...others } = run.subjects;
  const turned = {
    ...(vehicle === undefined ? {} : { vehicle: turnTrack(vehicle, yaw) }),
    ...(effector === undefined ? {} : { effector: turnTrack(effector, yaw) }),
  };
  const rotation: Quaternion = [0, 0, Math.sin(-yaw / 2), Math.cos(-yaw / 2)];
  const about = { translation: [0, 0, 0], rotation } as const;
  const body = (point: PointTrack | undefined): PointTrack | undefined =>
    point && { t: point.t, ...turnColumns(point, yaw) };
  const bodies = { vehicle: body(run.bodies.vehicle), effector: body(run.bodies.effector) };
  return {
    ...run,
    subjects: { ...turned, ...others },
    vehicle: run.vehicle && transformPoses(run.vehicle, about),
    setpoint: run.setpoint && transformPoses(run.setpoint, about),
    bodies: {
      ...(bodies.vehicle === undefined ? {} : { vehicle: bodies.vehicle }),
      ...(bodies.effector === undefined ? {} : { effector: bodies.effector }),
    },
    judgedIn: "heading",
  };
}

function turnTrack({ t, measured, error, command }: SubjectTrack, yaw: Radians): SubjectTrack {
  return {
    t,
    measured: turnColumns(measured, yaw),
    error: turnColumns(error, yaw),
    command: { t: command.t, ...turnColumns(command, yaw) },
  };
}

/** Columns along the world's axes in those turned by `yaw` about z: R_z(yaw)^T (x, y, z). NaN stays NaN. */
function turnColumns({ x, y, z }: Columns, yaw: Radians): Columns {
  const [c, s] = [Math.cos(yaw), Math.sin(yaw)];
  const forward = new Float64Array(x.length);
  const left = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    forward[i] = c * x[i]! + s * y[i]!;
    left[i] = c * y[i]! - s * x[i]!;
  }
  return { x: forward, y: left, z };
}
