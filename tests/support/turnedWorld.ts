import type { RecordedSignal, Recording } from "../../src/foundation/recording.ts";
import type { Quaternion, Radians } from "../../src/foundation/units.ts";
import { multiplyQuaternions } from "../../src/numeric/quaternion.ts";

const inWorld = ["vehicle_pose", "effector_pose", "vehicle_setpoint"];

/**
 * The same flight at another heading: all that stands in the world is turned about the vertical. Gyro and arm command, which
 * stand on the vehicle, stay as they are.
 */
export function turnedWorld(recording: Recording, yaw: Radians): Recording {
  const signals = [...recording.signals].map(([name, signal]) =>
    inWorld.includes(name) ? ([name, turned(signal, yaw)] as const) : ([name, signal] as const),
  );
  return { ...recording, signals: new Map(signals) };
}

function turned(signal: RecordedSignal, yaw: Radians): RecordedSignal {
  const { x, y, qx, qy, qz, qw, ...rest } = signal.columns;
  const [c, s] = [Math.cos(yaw), Math.sin(yaw)];
  const about: Quaternion = [0, 0, Math.sin(yaw / 2), Math.cos(yaw / 2)];
  const columns: Record<string, Float64Array> = { ...rest };
  columns.x = x!.map((value, i) => c * value - s * y![i]!);
  columns.y = y!.map((value, i) => s * x![i]! + c * value);
  if (qx && qy && qz && qw) {
    const attitudes = Array.from(qx, (_, i) => multiplyQuaternions(about, [qx[i]!, qy[i]!, qz[i]!, qw[i]!]));
    for (const [k, name] of ["qx", "qy", "qz", "qw"].entries()) {
      columns[name] = Float64Array.from(attitudes, (attitude) => attitude[k]!);
    }
  }
  return { ...signal, columns };
}

/** The setpoint as positions alone. */
export function withoutSetpointAttitude(recording: Recording): Recording {
  const setpoint = recording.signals.get("vehicle_setpoint")!;
  const { x, y, z } = setpoint.columns;
  const bare = { ...setpoint, type: "geometry_msgs/PointStamped", columns: { x: x!, y: y!, z: z! } };
  return { ...recording, signals: new Map([...recording.signals, ["vehicle_setpoint", bare]]) };
}
