import { nearestNames } from "../../foundation/nearest.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { sameBytes, textAt, type Wire } from "./Wire.ts";

/** A type whose numbers lie at fixed places behind its header and strings. */
export interface FixedLayout {
  readonly header: boolean;
  /** strings between the header and the numbers */
  readonly strings: 0 | 1;
  /** bytes behind header and strings */
  readonly size: number;
  /** column -> place of a float64 behind header and strings, bytes */
  readonly columns: Readonly<Record<string, number>>;
}

const position = { x: 0, y: 8, z: 16 };
const pose = { ...position, qx: 24, qy: 32, qz: 40, qw: 48 };
const poseSize = 56;
const covarianceSize = 36 * 8;
const twistSize = 48;
/** sensor_msgs/Imu: orientation and its covariance (9), rate and its, acceleration and its */
const imuSize = 32 + 72 + 24 + 72 + 24 + 72;

/** Poses and points, by type. Transforms are not here: they go by their child frame. */
export const poseLayouts: Readonly<Record<string, FixedLayout>> = {
  "geometry_msgs/PoseStamped": { header: true, strings: 0, size: poseSize, columns: pose },
  "geometry_msgs/PoseWithCovarianceStamped": {
    header: true,
    strings: 0,
    size: poseSize + covarianceSize,
    columns: pose,
  },
  "geometry_msgs/PointStamped": { header: true, strings: 0, size: 24, columns: position },
  "geometry_msgs/Vector3Stamped": { header: true, strings: 0, size: 24, columns: position },
  "nav_msgs/Odometry": {
    header: true,
    strings: 1,
    size: poseSize + covarianceSize + twistSize + covarianceSize,
    columns: pose,
  },
  "geometry_msgs/Pose": { header: false, strings: 0, size: poseSize, columns: pose },
  "geometry_msgs/Transform": { header: false, strings: 0, size: poseSize, columns: pose },
  "geometry_msgs/Point": { header: false, strings: 0, size: 24, columns: position },
  "geometry_msgs/Vector3": { header: false, strings: 0, size: 24, columns: position },
};

/** Angular rates, by type. */
export const rateLayouts: Readonly<Record<string, FixedLayout>> = {
  "sensor_msgs/Imu": { header: true, strings: 0, size: imuSize, columns: { wx: 104, wy: 112, wz: 120 } },
  "geometry_msgs/Vector3Stamped": { header: true, strings: 0, size: 24, columns: { wx: 0, wy: 8, wz: 16 } },
  "geometry_msgs/Vector3": { header: false, strings: 0, size: 24, columns: { wx: 0, wy: 8, wz: 16 } },
};

/** Writers of CDR may fill a message up to whole words of four bytes. */
const mostFilling = 3;

/**
 * A decoder that copies doubles from fixed places. All that lies between them is doubles too, so CDR aligns only the first. A
 * message that is longer than its type is none of it: with a damaged length before them the numbers would be read from elsewhere.
 */
export function fixedDecoder(layout: FixedLayout, wire: Wire): MessageDecoder {
  const { header, strings, size } = layout;
  const places = Int32Array.from(Object.values(layout.columns));
  const filling = wire.encoding === "cdr" ? mostFilling : 0;
  return {
    columns: Object.keys(layout.columns),
    stamped: header,
    decode(view, at, end, table) {
      let body = wire.begin(view, at, end);
      if (header) body = wire.skipHeader(view, body, end, table);
      if (strings === 1) body = wire.skipString(view, body, end);
      body = wire.align(body, 8);
      if (body < 0 || body + size > end || body + size + filling < end) return false;
      const row = header ? table.addRow(wire.sec, wire.nsec) : table.addRow(0, 0);
      const columns = table.columns;
      const little = wire.little;
      for (let i = 0; i < places.length; i++) columns[i]![row] = view.getFloat64(body + places[i]!, little);
      return true;
    },
  };
}

/**
 * Decodes the position of one joint of sensor_msgs/JointState (column `value`; radians, or metres of a slide).
 *
 * A message without the joint gives no row and is no fault: drivers may report their joints in turn. A joint
 * without a position is NaN. Without a wanted joint the only one there is serves.
 */
export function jointDecoder(options: { wire: Wire; joint?: string | undefined }): MessageDecoder {
  const { wire } = options;
  const encoder = new TextEncoder();
  const others = new Set<string>();
  let joint = options.joint === undefined ? null : encoder.encode(options.joint);
  return {
    columns: ["value"],
    stamped: true,
    decode(view, at, end, table) {
      const namesAt = wire.skipHeader(view, wire.begin(view, at, end), end, table);
      const positionsAt = wire.skipStrings(view, namesAt, end);
      if (positionsAt < 0 || wire.skipArray(view, positionsAt, end, 8) < 0) return false;
      const count = wire.count(view, namesAt, end);
      const positions = wire.count(view, positionsAt, end);
      const firstPosition = wire.first(positionsAt, 8);
      let name = wire.first(namesAt, 1);
      for (let i = 0; i < count; i++) {
        name = wire.skipString(view, name, end);
        const { textAt: from, textLength: length } = wire;
        if (joint === null) joint = encoder.encode(textAt(view, from, length));
        if (sameBytes(view, from, length, joint)) {
          const row = table.addRow(wire.sec, wire.nsec);
          table.columns[0]![row] = i < positions ? view.getFloat64(firstPosition + 8 * i, wire.little) : Number.NaN;
        } else others.add(textAt(view, from, length));
      }
      return true;
    },
    fault(rows) {
      if (options.joint === undefined && others.size > 0) {
        const all = [new TextDecoder().decode(joint ?? new Uint8Array()), ...others];
        return {
          reason: "child",
          message: `found ${all.length} joints (${all.slice(0, 12).join(", ")}), expected one`,
          hint: `say which: joint: ${all[0]}`,
        };
      }
      if (rows > 0 || options.joint === undefined || others.size === 0) return null;
      const near = nearestNames(options.joint, [...others], 12);
      return {
        reason: "child",
        message: `found no joint "${options.joint}", only ${near.join(", ")}`,
        hint: `did you mean joint: ${near[0]}?`,
      };
    },
  };
}
