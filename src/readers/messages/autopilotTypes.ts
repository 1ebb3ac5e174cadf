import type { SignalName } from "../../foundation/signals.ts";
import { signalsOfTopic, type TopicSignal, topicSignal } from "../autopilot/topicSignals.ts";

/** The topic that a px4_msgs type is named after: px4_msgs/msg/VehicleOdometry -> vehicle_odometry; null for other types. */
export function autopilotTopic(type: string): string | null {
  const found = /^px4_msgs\/(?:msg\/)?([A-Z]\w*)$/.exec(type);
  // V2 and the like: later versions of one message
  const name = found?.[1]?.replace(/V\d+$/, "");
  return name === undefined ? null : name.replace(/(?<=[a-z0-9])([A-Z])/g, "_$1").toLowerCase();
}

/** How a px4_msgs type serves a signal; null where it cannot. */
export function autopilotSignal(signal: SignalName, type: string): TopicSignal | null {
  const topic = autopilotTopic(type);
  return topic === null ? null : topicSignal(signal, topic);
}

/** Signals a px4_msgs type could serve as, best guess first. */
export function signalsOfAutopilotType(type: string): SignalName[] {
  const topic = autopilotTopic(type);
  return topic === null ? [] : signalsOfTopic(topic);
}
