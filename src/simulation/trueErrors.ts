import type { Subject } from "../foundation/tracks.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import { armCommand, inverse, turn } from "./attitude.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Motion } from "./motion.ts";
import { toolInVehicle, toolInWorld } from "./placement.ts";
import type { Timeline } from "./timeline.ts";

/** Error of each subject per axis, metres. */
export type SubjectErrors = Readonly<Record<Subject, readonly [Float64Array, Float64Array, Float64Array]>>;

/** The arm's command as its messages tell it: straight lines between the logged points. */
export type LoggedCommand = (time: Seconds) => Vector3;

/** Reads the command at an instant from messages a fixed interval apart, as a listener must. */
export function loggedCommand(settings: FlightSettings, timeline: Timeline, messageTimes: Float64Array): LoggedCommand {
  const { trajectory, arm } = settings;
  const first = messageTimes[0] ?? 0;
  return (time) => {
    const interval = 1 / settings.commandRate;
    const index = Math.min(Math.max(Math.floor((time - first) / interval), 0), Math.max(0, messageTimes.length - 2));
    const from = messageTimes[index] ?? time;
    const to = messageTimes[index + 1] ?? from;
    const part = to > from ? Math.min(Math.max((time - from) / (to - from), 0), 1) : 0;
    const a = armCommand(trajectory, arm.rest, timeline, from);
    const b = armCommand(trajectory, arm.rest, timeline, to);
    return [0, 1, 2].map((i) => a[i]! * (1 - part) + b[i]! * part) as unknown as Vector3;
  };
}

/**
 * True errors, without capture noise, at given instants: vehicle = body point - setpoint; effector = tool point
 * in the world - (setpoint, level with yaw 0, o arm base o command); arm = tool point - command in the vehicle frame.
 */
export function trueErrors(
  settings: FlightSettings,
  motion: Motion,
  command: LoggedCommand,
  times: Float64Array,
): SubjectErrors {
  const columns = (): [Float64Array, Float64Array, Float64Array] => [
    new Float64Array(times.length),
    new Float64Array(times.length),
    new Float64Array(times.length),
  ];
  const errors = { vehicle: columns(), effector: columns(), arm: columns() };
  for (let i = 0; i < times.length; i++) {
    const now = motion.at(times[i]!);
    const setpoint = motion.setpoint(times[i]!);
    const wanted = toolInVehicle(settings, command(times[i]!));
    const tool = toolInWorld(settings, now, now.tool);
    const lever = turn(inverse(now.attitude), [
      tool[0] - now.position[0],
      tool[1] - now.position[1],
      tool[2] - now.position[2],
    ]);
    for (let axis = 0; axis < 3; axis++) {
      errors.vehicle[axis]![i] = now.position[axis]! - setpoint[axis]!;
      errors.effector[axis]![i] = tool[axis]! - setpoint[axis]! - wanted[axis]!;
      errors.arm[axis]![i] = lever[axis]! - wanted[axis]!;
    }
  }
  return errors;
}
