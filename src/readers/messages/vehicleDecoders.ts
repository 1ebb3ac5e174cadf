import type { MessageDecoder } from "./MessageDecoder.ts";
import type { Wire } from "./Wire.ts";

/** MAV_FRAME_LOCAL_NED; by mavros's convention the message then holds metres in a fixed frame with z up (ENU). */
const localFrame = 1;
const ignoreX = 1;
const ignoreY = 2;
const ignoreZ = 4;
const ignoreYaw = 1024;
/** More channels than any flight controller has are damage, not motors. */
const mostChannels = 64;

/**
 * Decodes mavros_msgs/PositionTarget: position, yaw, and which of them are meant.
 *
 * What the type mask says to ignore is NaN and not given, never 0. So is everything in a frame other than the local
 * one (an offset or a body frame is no place in the world); column `coordinate_frame` tells which messages those were.
 *
 * @source mavros_msgs/PositionTarget; MAVLink common message set, SET_POSITION_TARGET_LOCAL_NED
 */
export function positionTargetDecoder(wire: Wire): MessageDecoder {
  return {
    columns: ["x", "y", "z", "yaw", "coordinate_frame"],
    maskable: ["x", "y", "z", "yaw"],
    stamped: true,
    decode(view, at, end, table) {
      const frameAt = wire.skipHeader(view, wire.begin(view, at, end), end, table);
      const maskAt = frameAt < 0 ? -1 : wire.align(frameAt + 1, 2);
      // position, velocity, acceleration, yaw and yaw rate
      const body = maskAt < 0 ? -1 : wire.align(maskAt + 2, 8);
      if (body < 0 || body + 9 * 8 + 2 * 4 > end) return false;
      const frame = view.getUint8(frameAt);
      const mask = view.getUint16(maskAt, wire.little);
      const row = table.addRow(wire.sec, wire.nsec);
      const set = (column: number, ignored: number, value: number): void => {
        const given = frame === localFrame && (mask & ignored) === 0;
        table.columns[column]![row] = given ? value : Number.NaN;
        table.masks[column]![row] = given ? 1 : 0;
      };
      set(0, ignoreX, view.getFloat64(body, wire.little));
      set(1, ignoreY, view.getFloat64(body + 8, wire.little));
      set(2, ignoreZ, view.getFloat64(body + 16, wire.little));
      set(3, ignoreYaw, view.getFloat32(body + 9 * 8, wire.little));
      table.columns[4]![row] = frame;
      return true;
    },
  };
}

/**
 * Decodes trajectory_msgs/MultiDOFJointTrajectory: the first transform of the first point, what is to be reached now.
 * A message without one gives no row and is counted.
 */
export function trajectoryDecoder(wire: Wire): MessageDecoder {
  return {
    columns: ["x", "y", "z", "qx", "qy", "qz", "qw"],
    stamped: true,
    decode(view, at, end, table) {
      const namesAt = wire.skipHeader(view, wire.begin(view, at, end), end, table);
      const pointsAt = wire.skipStrings(view, namesAt, end);
      if (wire.count(view, pointsAt, end) <= 0) return false;
      const transformsAt = wire.first(pointsAt, 4);
      if (wire.count(view, transformsAt, end) <= 0) return false;
      const body = wire.first(transformsAt, 8);
      if (body + 56 > end) return false;
      const row = table.addRow(wire.sec, wire.nsec);
      for (let i = 0; i < 7; i++) table.columns[i]![row] = view.getFloat64(body + 8 * i, wire.little);
      return true;
    },
  };
}

/**
 * Decodes sensor_msgs/BatteryState: volts, amperes (negative when discharging), percentage 0..1, number of cell voltages.
 * What the driver did not measure is NaN there already.
 *
 * @param options.temperature  whether the type has a temperature (since ROS Melodic); it moves what follows
 */
export function batteryDecoder(options: { wire: Wire; temperature: boolean }): MessageDecoder {
  const { wire } = options;
  const shift = options.temperature ? 4 : 0;
  const cellsAt = 28 + shift;
  return {
    columns: ["voltage", "current", "percentage", "cells"],
    stamped: true,
    decode(view, at, end, table) {
      const body = wire.align(wire.skipHeader(view, wire.begin(view, at, end), end, table), 4);
      // Numbers of four bytes, then four single bytes: nothing between them is aligned.
      if (body < 0 || wire.skipArray(view, body + cellsAt, end, 4) < 0) return false;
      const { little } = wire;
      const row = table.addRow(wire.sec, wire.nsec);
      table.columns[0]![row] = view.getFloat32(body, little);
      table.columns[1]![row] = view.getFloat32(body + 4 + shift, little);
      table.columns[2]![row] = view.getFloat32(body + 20 + shift, little);
      table.columns[3]![row] = view.getUint32(body + cellsAt, little);
      return true;
    },
  };
}

/** Decodes mavros_msgs/RCOut: one column per channel (m0, m1, ...; pulse widths in microseconds), NaN where a message has fewer. */
export function motorsDecoder(wire: Wire): MessageDecoder {
  return {
    columns: [],
    stamped: true,
    decode(view, at, end, table) {
      const body = wire.skipHeader(view, wire.begin(view, at, end), end, table);
      if (wire.skipArray(view, body, end, 2) < 0) return false;
      const count = wire.count(view, body, end);
      if (count > mostChannels) return false;
      table.widen("m", count);
      const first = wire.first(body, 2);
      const row = table.addRow(wire.sec, wire.nsec);
      for (let i = 0; i < table.columns.length; i++)
        table.columns[i]![row] = i < count ? view.getUint16(first + 2 * i, wire.little) : Number.NaN;
      return true;
    },
  };
}
