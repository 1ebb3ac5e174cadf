import type { MessageDecoder } from "./MessageDecoder.ts";
import type { Wire } from "./Wire.ts";

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

/** A decoder that copies doubles from fixed places. All that lies between them is doubles too, so CDR aligns only the first. */
export function fixedDecoder(layout: FixedLayout, wire: Wire): MessageDecoder {
  const { header, strings, size } = layout;
  const places = Int32Array.from(Object.values(layout.columns));
  return {
    columns: Object.keys(layout.columns),
    stamped: header,
    decode(view, at, end, table) {
      let body = wire.begin(view, at, end);
      if (header) body = wire.skipHeader(view, body, end, table);
      if (strings === 1) body = wire.skipString(view, body, end);
      body = wire.align(body, 8);
      if (body < 0 || body + size > end) return false;
      const row = header ? table.addRow(wire.sec, wire.nsec) : table.addRow(0, 0);
      const columns = table.columns;
      const little = wire.little;
      for (let i = 0; i < places.length; i++) columns[i]![row] = view.getFloat64(body + places[i]!, little);
      return true;
    },
  };
}
