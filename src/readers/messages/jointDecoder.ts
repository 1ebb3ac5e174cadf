import { nearestNames } from "../../foundation/nearest.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { sameBytes, textAt, type Wire } from "./Wire.ts";

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
