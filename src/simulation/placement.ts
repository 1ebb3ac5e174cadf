import type { Quaternion, Vector3 } from "../foundation/units.ts";
import { inverse, quaternionOfAngles, turn, turnedBy } from "./attitude.ts";
import type { FlightSettings } from "./flightShape.ts";
import type { Instant } from "./motion.ts";

/** A frame in the world: origin and attitude. */
export interface Pose {
  readonly position: Vector3;
  readonly attitude: Quaternion;
}

/** Tool point in the onboard world for a vehicle pose and a tool point in the arm-base frame. */
export function toolInWorld(settings: FlightSettings, vehicle: Pose, tool: Vector3): Vector3 {
  return plus(vehicle.position, turn(vehicle.attitude, toolInVehicle(settings, tool)));
}

/** Tool point in the vehicle's body frame (origin: body point). */
export function toolInVehicle(settings: FlightSettings, tool: Vector3): Vector3 {
  const { translation, rotation } = settings.frames.armBase;
  return plus(translation, turn(quaternionOfAngles(...rotation), tool));
}

/** Marker frame of the vehicle in the onboard world. */
export function vehicleMarkers(settings: FlightSettings, now: Instant): Pose {
  return { position: minus(now.position, turn(now.attitude, settings.frames.bodyPoint)), attitude: now.attitude };
}

/** Marker frame of the effector in the onboard world: turned like the arm base, the tool point at `toolPoint` in it. */
export function effectorMarkers(settings: FlightSettings, now: Instant): Pose {
  const attitude = turnedBy(now.attitude, quaternionOfAngles(...settings.frames.armBase.rotation));
  const tool = toolInWorld(settings, now, now.tool);
  return { position: minus(tool, turn(attitude, settings.frames.toolPoint)), attitude };
}

/** A pose of the onboard world seen in the capture world (still z up). */
export function inCaptureWorld(settings: FlightSettings, pose: Pose): Pose {
  const { translation, rotation } = settings.frames.onboard;
  const turned = quaternionOfAngles(...rotation);
  return {
    position: plus(translation, turn(turned, pose.position)),
    attitude: turnedBy(turned, pose.attitude),
  };
}

/** -90 degrees about x: z up becomes y up, x stays. */
const yUp = quaternionOfAngles(-Math.PI / 2, 0, 0);

/** A z-up pose as a capture system with y up reports it; its body frames too where they were defined with y up. */
export function withUp(settings: FlightSettings, pose: Pose): Pose {
  const { worldUp, bodyUp } = settings.frames;
  if (worldUp === "z") return pose;
  const attitude = turnedBy(yUp, pose.attitude);
  return {
    position: turn(yUp, pose.position),
    attitude: bodyUp === "y" ? turnedBy(attitude, inverse(yUp)) : attitude,
  };
}

function plus(a: Vector3, b: Vector3): Vector3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

function minus(a: Vector3, b: Vector3): Vector3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}
