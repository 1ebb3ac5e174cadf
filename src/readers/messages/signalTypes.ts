import type { SignalRequest } from "../../foundation/recording.ts";
import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import { signalsOfAutopilotType } from "./autopilotDecoder.ts";
import { withoutMsg } from "./definition.ts";
import { type FixedLayout, fixedDecoder, jointDecoder, poseLayouts, rateLayouts } from "./fixedDecoder.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { transformDecoder } from "./transformDecoder.ts";
import { batteryDecoder, motorsDecoder, positionTargetDecoder, trajectoryDecoder } from "./vehicleDecoders.ts";
import type { Wire } from "./Wire.ts";

/** What a type known by heart can give. */
interface KnownType {
  /** sums of the definitions whose bytes lie as the decoder expects; another sum is another layout */
  readonly md5: readonly string[];
  /** the same for a log that holds definitions instead of sums: how their fields follow each other (see `layoutOf`) */
  readonly layouts: readonly string[];
  /** @param version  the sum or layout that the log gives; "" where it gives none */
  readonly decoder: (request: SignalRequest, wire: Wire, version: string) => MessageDecoder;
}

const measured = ["vehicle_pose", "effector_pose", "vehicle_estimate"] as const;
const commanded = ["vehicle_setpoint", "effector_command"] as const;
const sumWithoutTemperature = "476f837fa6771f6e16e3bf4ef96f8770";

/** Sums computed with Debian's genmsg from the definitions of ROS Noetic (BatteryState also of Kinetic; mavros_msgs of its repository). */
const poseSums: Readonly<Record<string, string>> = {
  "geometry_msgs/PoseStamped": "d3812c3cbc69362b77dc0b19b345f8f5",
  "geometry_msgs/PoseWithCovarianceStamped": "953b798c0f514ff060a53a3498ce6246",
  "geometry_msgs/PointStamped": "c63aecb41bfdfd6b7e1fac37c7cbe7bf",
  "geometry_msgs/Vector3Stamped": "7b324c7325e683bf02a9b14b01090ec7",
  "nav_msgs/Odometry": "cd5e73d190d741a2f92e81eda573aca7",
  "geometry_msgs/Pose": "e45d45a5a1ce597b249e23fb30fc871f",
  "geometry_msgs/Transform": "ac9eff44abf714214112b05d54a3cf9b",
  "geometry_msgs/Point": "4a842b65f413084dc2b10fb484ea7f17",
  "geometry_msgs/Vector3": "4a842b65f413084dc2b10fb484ea7f17",
};

/** A layout in letters: header, strings, doubles. */
function lettersOf({ header, strings, size }: FixedLayout): string {
  return (header ? "H" : "") + "s".repeat(strings) + "d".repeat(size / 8);
}

function fixedType(sum: string, layout: FixedLayout): KnownType {
  return { md5: [sum], layouts: [lettersOf(layout)], decoder: (_, wire) => fixedDecoder(layout, wire) };
}

function treeType(): KnownType {
  return {
    md5: [treeSum],
    layouts: [`[${transformLetters}]`],
    decoder: ({ child }, wire) => transformDecoder({ wire, tree: true, child }),
  };
}

const transformLetters = "Hsddddddd";
const treeSum = "94810edda583a504dfda3829e70d7eec";
const poses: Readonly<Record<string, KnownType>> = {
  ...Object.fromEntries(
    Object.entries(poseLayouts).map(([type, layout]) => [type, fixedType(poseSums[type]!, layout)]),
  ),
  "geometry_msgs/TransformStamped": {
    md5: ["b5764a33bfeb3588febc2682852579b0"],
    layouts: [transformLetters],
    decoder: ({ child }, wire) => transformDecoder({ wire, tree: false, child }),
  },
  "tf2_msgs/TFMessage": treeType(),
  "tf/tfMessage": treeType(),
};
const commands: Readonly<Record<string, KnownType>> = {
  ...poses,
  "mavros_msgs/PositionTarget": {
    md5: ["dedb0081aaf8cb20209737746bb49117"],
    layouts: ["Hbhdddddddddff"],
    decoder: (_, wire) => positionTargetDecoder(wire),
  },
  "trajectory_msgs/MultiDOFJointTrajectory": {
    md5: ["ef145a45a5f47b77b7f5cdde4b16c942"],
    layouts: ["H[s][[ddddddd][dddddd][dddddd]D]"],
    decoder: (_, wire) => trajectoryDecoder(wire),
  },
};
const joints: Readonly<Record<string, KnownType>> = {
  "sensor_msgs/JointState": {
    md5: ["3066dcd76a6cfaef579bd0f34173e9fd"],
    layouts: ["H[s][d][d][d]"],
    decoder: ({ joint }, wire) => jointDecoder({ wire, joint }),
  },
};
const rates: Readonly<Record<string, KnownType>> = {
  "sensor_msgs/Imu": fixedType("6a62c6daae103f4ff57a132d6f95cec2", rateLayouts["sensor_msgs/Imu"]!),
  "geometry_msgs/Vector3Stamped": fixedType(
    poseSums["geometry_msgs/Vector3Stamped"]!,
    rateLayouts["geometry_msgs/Vector3Stamped"]!,
  ),
  "geometry_msgs/Vector3": fixedType(poseSums["geometry_msgs/Vector3"]!, rateLayouts["geometry_msgs/Vector3"]!),
};

const bySignal: Readonly<Record<SignalName, Readonly<Record<string, KnownType>>>> = {
  ...(Object.fromEntries(measured.map((signal) => [signal, poses])) as Record<(typeof measured)[number], typeof poses>),
  ...(Object.fromEntries(commanded.map((signal) => [signal, commands])) as Record<
    (typeof commanded)[number],
    typeof poses
  >),
  arm_phase: joints,
  vehicle_rate: rates,
  battery: {
    "sensor_msgs/BatteryState": {
      md5: ["4ddae7f048e32fda22cac764685e3974", sumWithoutTemperature],
      // the second array: temperatures of the cells, since ROS 2 Foxy and ROS Noetic
      layouts: ["Hfffffffbbbb[f][f]ss", "Hfffffffbbbb[f]ss", "Hffffffbbbb[f][f]ss", "Hffffffbbbb[f]ss"],
      decoder: (_, wire, version) =>
        batteryDecoder({
          wire,
          temperature: version !== sumWithoutTemperature && !version.startsWith("Hffffffb"),
        }),
    },
  },
  motors: {
    "mavros_msgs/RCOut": {
      md5: ["52cacf104bab5ae3b103cfe176590713"],
      layouts: ["H[h]"],
      decoder: (_, wire) => motorsDecoder(wire),
    },
  },
  // any type may hold it: `fields` says where
  arm_effort: {},
};

/** How a type known by heart serves a signal, with or without ROS 2's /msg/ in its name; null where it cannot. */
export function knownType(signal: SignalName, type: string): KnownType | null {
  const name = withoutMsg(type);
  return Object.hasOwn(bySignal[signal], name) ? bySignal[signal][name]! : null;
}

/** Types that can serve a signal without `fields`. */
export function typesFor(signal: SignalName): string[] {
  return Object.keys(bySignal[signal]);
}

/** Whether a type is a tree of transforms. */
export function isTree(type: string): boolean {
  return ["tf2_msgs/TFMessage", "tf/tfMessage"].includes(withoutMsg(type));
}

/** Whether a type known by heart starts with a header; false where the type is not known. */
export function headerByHeart(type: string): boolean {
  return signalNames.some((signal) => knownType(signal, type)?.layouts[0]?.startsWith("H") === true);
}

/** What speaks in a topic's name for a signal. */
const clues: Readonly<Record<SignalName, RegExp>> = {
  vehicle_pose: /mocap|vicon|vrpn|optitrack|qualisys|vision|vehicle|airframe|body|uav|drone/i,
  effector_pose: /effector|tool|tip|gripper|hand|probe/i,
  vehicle_setpoint: /setpoint|set_point|reference|desired|target|hold/i,
  effector_command: /arm|effector|tool|manipulator|goal|command/i,
  arm_phase: /joint|servo|arm/i,
  vehicle_rate: /imu|gyro/i,
  vehicle_estimate: /local|estimat|state|odom|fused|onboard/i,
  battery: /batter/i,
  motors: /rc|motor|actuator/i,
  arm_effort: /effort|torque/i,
};

/** Signals a topic could serve as, best guess first: by type, ordered by what its name says. */
export function signalsFor(topic: string, type: string): SignalName[] {
  const autopilot = signalsOfAutopilotType(type);
  if (autopilot.length > 0) return autopilot;
  return signalNames
    .filter((signal) => knownType(signal, type) !== null)
    .map((signal, order) => ({ signal, order, clue: clues[signal].test(topic) ? 0 : 1 }))
    .sort((a, b) => a.clue - b.clue || a.order - b.order)
    .map(({ signal }) => signal);
}
