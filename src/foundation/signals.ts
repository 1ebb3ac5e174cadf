/** The closed list of signals a manifest may name (design, section 4). */
export const signalNames = [
  "vehicle_pose",
  "effector_pose",
  "vehicle_setpoint",
  "effector_command",
  "arm_phase",
  "vehicle_rate",
  "vehicle_estimate",
  "battery",
  "motors",
] as const;
export type SignalName = (typeof signalNames)[number];

export const subjects = ["vehicle", "effector", "arm"] as const;
/** What is judged: body point in the world, tool point in the world, tool point relative to the vehicle. */
export type Subject = (typeof subjects)[number];

export const axes = ["x", "y", "z"] as const;
export type Axis = (typeof axes)[number];
