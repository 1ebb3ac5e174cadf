import type { RecordedSignal } from "../foundation/recording.ts";
import type { SignalName } from "../foundation/tracks.ts";
import type { Seconds, Vector3 } from "../foundation/units.ts";
import type { SeededRandom } from "../numeric/seededRandom.ts";
import { quaternionOfAngles, quaternionOfVector, randomStream, turnedBy } from "./attitude.ts";
import { type Draft, recordDraft } from "./draft.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Instant } from "./motion.ts";
import { effectorMarkers, inCaptureWorld, type Pose, vehicleMarkers, withUp } from "./placement.ts";
import { captureStamps, receiptTimes, samplingTimes } from "./timeline.ts";

/**
 * One body as the motion capture sees it: white noise on the marker frame's origin (per axis of the z-up capture
 * world) and on its attitude (small turns about the body axes), stamped by the capture clock.
 *
 * @param times instants, seconds after the recording's start
 * @param poses marker frame in the onboard world at those instants
 */
export function capturePoses(
  settings: FlightSettings,
  seed: number,
  signal: "vehicle_pose" | "effector_pose",
  times: Float64Array,
  poses: readonly Pose[],
): Draft {
  const random = randomStream(seed, `capture ${signal}`);
  const names = ["x", "y", "z", "qx", "qy", "qz", "qw"] as const;
  const columns = names.map(() => new Float64Array(times.length));
  let before: Pose["attitude"] | null = null;
  poses.forEach((pose, i) => {
    const seen = withUp(settings, addNoise(settings, random, inCaptureWorld(settings, pose)));
    // q and -q are the same attitude; a capture system keeps to one of them as long as it can
    const dot = before === null ? 1 : before.reduce((sum, value, k) => sum + value * seen.attitude[k]!, 0);
    const sign = dot < 0 ? -1 : 1;
    before = seen.attitude.map((value) => sign * value) as unknown as Pose["attitude"];
    for (let axis = 0; axis < 3; axis++) columns[axis]![i] = seen.position[axis]!;
    for (let k = 0; k < 4; k++) columns[3 + k]![i] = before[k]!;
  });
  return {
    signal,
    topic: settings.topics[signal],
    type: "geometry_msgs/PoseStamped",
    frameId: "capture",
    time: times,
    received: receiptTimes(
      times,
      settings.receipt.capture,
      settings.receipt.jitter,
      randomStream(seed, `receipt ${signal}`),
    ),
    stamped: captureStamps(settings, times),
    columns: Object.fromEntries(names.map((name, k) => [name, columns[k]!])),
  };
}

function addNoise(settings: FlightSettings, random: SeededRandom, pose: Pose): Pose {
  const { positionNoise, attitudeNoise } = settings.capture;
  if (attitudeNoise === 0 && positionNoise.every((sd) => sd === 0)) return pose;
  const draw = (sd: number): number => sd * random.normal();
  const turned: Vector3 = [draw(attitudeNoise), draw(attitudeNoise), draw(attitudeNoise)];
  const [x, y, z] = pose.position;
  return {
    position: [x + draw(positionNoise[0]), y + draw(positionNoise[1]), z + draw(positionNoise[2])],
    attitude: turnedBy(pose.attitude, quaternionOfVector(turned)),
  };
}

/**
 * Noise of a control point, sd per axis of the capture world at level attitude, metres: the origin's own and what the
 * attitude's noise does at the lever between origin and control point.
 */
export function controlPointNoise(settings: FlightSettings, signal: SignalName): Vector3 {
  const lever = signal === "effector_pose" ? settings.frames.toolPoint : settings.frames.bodyPoint;
  const { positionNoise, attitudeNoise } = settings.capture;
  const square = lever[0] ** 2 + lever[1] ** 2 + lever[2] ** 2;
  const of = (axis: 0 | 1 | 2): number =>
    Math.sqrt(positionNoise[axis] ** 2 + attitudeNoise ** 2 * (square - lever[axis] ** 2));
  return [of(0), of(1), of(2)];
}

/** Both bodies standing on the ground with rotors stopped, seen by the motion capture alone. */
export function simulateStaticCapture(
  settings: FlightSettings,
  duration: Seconds,
  seed: number,
): { readonly settings: FlightSettings; readonly seed: number; readonly signals: readonly RecordedSignal[] } {
  const times = samplingTimes(settings.capture.rate, duration, randomStream(seed, "sampling capture"));
  const standing: Instant = {
    position: [settings.setpoint[0], settings.setpoint[1], 0.31],
    attitude: quaternionOfAngles(0.004, -0.006, 0.01),
    tool: settings.arm.rest,
    rate: [0, 0, 0],
  };
  const still = (signal: "vehicle_pose" | "effector_pose"): RecordedSignal => {
    const pose = signal === "vehicle_pose" ? vehicleMarkers(settings, standing) : effectorMarkers(settings, standing);
    const poses = Array.from(times, () => pose);
    return recordDraft(capturePoses(settings, seed, signal, times, poses), settings.start);
  };
  return { settings, seed, signals: [still("vehicle_pose"), still("effector_pose")] };
}
