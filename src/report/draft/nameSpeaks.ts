import type { SignalName } from "../../foundation/tracks.ts";

/** Words of the trade for the arm and its tool, for what is asked for, for a capture, and for what is reckoned on board. */
export const armWords = /(^|[/_])(arm|manipulator)|effector|tool|tip\b|gripper|hand|probe|swab/i;
export const commandWords = /goal|command|cmd|target|set_?point|desired|reference|hold/i;
export const captureWords = /mocap|motion_?capture|capture|vision|visual|vrpn|vicon|optitrack|qualisys|ground_?truth/i;
export const estimateWords = /estimat|state|odom|local|fused|onboard|filter|ekf/i;

const likelihood: Readonly<Record<SignalName, (name: string) => number>> = {
  vehicle_pose: (name) =>
    (captureWords.test(name) ? 2 : 0) +
    (/airframe|vehicle|body|uav|drone|copter/i.test(name) ? 1 : 0) -
    (armWords.test(name) || commandWords.test(name) ? 3 : 0),
  effector_pose: (name) => (armWords.test(name) && !commandWords.test(name) ? 3 : -1),
  vehicle_setpoint: (name) => (commandWords.test(name) ? 3 : -1) - (armWords.test(name) ? 3 : 0),
  effector_command: (name) => (armWords.test(name) ? 2 : -1) + (commandWords.test(name) ? 2 : 0),
  arm_phase: (name) => (armWords.test(name) || /joint|servo/i.test(name) ? 2 : 1),
  // a rate for the controller is filtered, and late by that: the sensor's own shows the clock better
  vehicle_rate: (name) => (/imu|gyro|sensor_combined/i.test(name) ? 2 : /angular_velocity|rates?$/i.test(name) ? 1 : 0),
  vehicle_estimate: (name) =>
    (estimateWords.test(name) ? 2 : -1) - (armWords.test(name) || commandWords.test(name) ? 3 : 0),
  battery: (name) => (armWords.test(name) ? 0 : 1),
  motors: (name) => (armWords.test(name) ? 0 : 1),
};

/** How much a name speaks for a signal; below 0 it speaks against it. A hint beside what the data show, never more. */
export function nameSpeaks(signal: SignalName, name: string): number {
  return likelihood[signal](name);
}
