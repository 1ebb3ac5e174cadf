import type { SignalRequest } from "../../../src/foundation/recording.ts";

/** Which signal a topic of the reference bag is asked for as, with what else the request must say. */
export const asked: Readonly<Record<string, Omit<SignalRequest, "topic">>> = {
  "/pose": { signal: "vehicle_pose" },
  "/pose_cov": { signal: "vehicle_estimate" },
  "/transform": { signal: "effector_pose" },
  "/point": { signal: "effector_command" },
  "/vector": { signal: "vehicle_setpoint" },
  "/odometry": { signal: "vehicle_estimate" },
  "/tf": { signal: "effector_pose", child: "tool" },
  "/tf_static": { signal: "vehicle_pose", child: "/base" },
  "/imu": { signal: "vehicle_rate" },
  "/battery": { signal: "battery" },
  "/target": { signal: "vehicle_setpoint" },
  "/trajectory": { signal: "effector_command" },
  "/joints": { signal: "arm_phase", joint: "elbow" },
  "/rc": { signal: "motors" },
  "/bare/pose": { signal: "vehicle_pose" },
  "/bare/point": { signal: "effector_command" },
  "/bare/vector": { signal: "vehicle_setpoint" },
  "/bare/transform": { signal: "vehicle_estimate" },
};
