import { nearestNames } from "../../foundation/nearest.ts";
import type { MessageDecoder } from "./MessageDecoder.ts";
import { sameBytes, skipArray, skipHeader, skipStrings, textAt } from "./messageBytes.ts";

/**
 * Decodes the position of one joint of sensor_msgs/JointState (column `position`; radians, or metres of a slide).
 *
 * A message without the joint gives no row and is no fault: drivers may report their joints in turn. A joint
 * without a position is NaN. Without a wanted joint the only one there is serves.
 */
export function jointDecoder(options: { joint?: string | undefined }): MessageDecoder {
  const encoder = new TextEncoder();
  const others = new Set<string>();
  let joint = options.joint === undefined ? null : encoder.encode(options.joint);
  return {
    columns: ["position"],
    stamped: true,
    decode(view, at, end, table) {
      const namesAt = skipHeader(view, at, end, table);
      if (namesAt < 0) return false;
      const positionsAt = skipStrings(view, namesAt, end);
      if (positionsAt < 0 || skipArray(view, positionsAt, end, 8) < 0) return false;
      const count = view.getUint32(namesAt, true);
      const positions = view.getUint32(positionsAt, true);
      let name = namesAt + 4;
      for (let i = 0; i < count; i++) {
        const length = view.getUint32(name, true);
        if (joint === null) joint = encoder.encode(textAt(view, name + 4, length));
        if (sameBytes(view, name + 4, length, joint)) {
          const row = table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
          table.columns[0]![row] = i < positions ? view.getFloat64(positionsAt + 4 + 8 * i, true) : Number.NaN;
        } else others.add(textAt(view, name + 4, length));
        name += 4 + length;
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
