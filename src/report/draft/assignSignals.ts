import type { TopicInspection } from "../../contract/inspection.ts";
import { type SignalName, signalNames } from "../../foundation/signals.ts";

const arm = /(^|[/_])(arm|manipulator)|effector|tool|tip\b|gripper|hand|probe|swab/i;
const told = /goal|command|cmd|target|set_?point|desired|reference|hold/i;

/** How much a topic's name speaks for a signal; below 0 it speaks against it. */
const likelihood: Readonly<Record<SignalName, (topic: string) => number>> = {
  vehicle_pose: (topic) =>
    (/mocap|capture|vision|vrpn/i.test(topic) ? 2 : 0) +
    (/airframe|vehicle|body|uav|drone/i.test(topic) ? 1 : 0) -
    (arm.test(topic) || told.test(topic) ? 3 : 0),
  effector_pose: (topic) => (arm.test(topic) && !told.test(topic) ? 3 : -1),
  vehicle_setpoint: (topic) => (told.test(topic) ? 3 : -1) - (arm.test(topic) ? 3 : 0),
  effector_command: (topic) => (arm.test(topic) ? 2 : -1) + (told.test(topic) ? 2 : 0),
  // a rate for the controller is filtered, and late by that: the sensor's own shows the clock better
  vehicle_rate: (topic) =>
    /imu|gyro|sensor_combined/i.test(topic) ? 2 : /angular_velocity|rates?$/i.test(topic) ? 1 : 0,
  vehicle_estimate: (topic) =>
    (/estimat|state|odom|local|fused|onboard/i.test(topic) ? 2 : -1) - (arm.test(topic) || told.test(topic) ? 3 : 0),
  battery: () => 1,
  motors: () => 1,
};
const needed: readonly SignalName[] = ["vehicle_pose", "vehicle_setpoint"];

/**
 * The most likely topic for each signal: every topic serves once, and a signal that need not be there is left out where no
 * name speaks for it. Among equals the topic with more messages is taken.
 */
export function assignSignals(topics: readonly TopicInspection[]): ReadonlyMap<SignalName, TopicInspection> {
  const offers = topics
    .filter(({ messages }) => messages > 0)
    .flatMap((topic) => topic.could_be.map((signal) => ({ signal, topic, score: likelihood[signal](topic.topic) })))
    .filter(({ signal, score }) => score > 0 || (score === 0 && needed.includes(signal)))
    .sort(
      (a, b) =>
        b.score - a.score ||
        signalNames.indexOf(a.signal) - signalNames.indexOf(b.signal) ||
        b.topic.messages - a.topic.messages,
    );
  const found = new Map<SignalName, TopicInspection>();
  const taken = new Set<string>();
  for (const { signal, topic } of offers) {
    if (found.has(signal) || taken.has(topic.topic)) continue;
    found.set(signal, topic);
    taken.add(topic.topic);
  }
  return found;
}
