import type { MessageDecoder } from "./MessageDecoder.ts";
import { skipArray, skipHeader, skipStrings } from "./messageBytes.ts";

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
export function positionTargetDecoder(): MessageDecoder {
  return {
    columns: ["x", "y", "z", "yaw", "coordinate_frame"],
    maskable: ["x", "y", "z", "yaw"],
    stamped: true,
    decode(view, at, end, table) {
      const body = skipHeader(view, at, end, table);
      if (body < 0 || body + 83 > end) return false;
      const frame = view.getUint8(body);
      const mask = view.getUint16(body + 1, true);
      const row = table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
      const set = (column: number, ignored: number, value: number): void => {
        const given = frame === localFrame && (mask & ignored) === 0;
        table.columns[column]![row] = given ? value : Number.NaN;
        table.masks[column]![row] = given ? 1 : 0;
      };
      set(0, ignoreX, view.getFloat64(body + 3, true));
      set(1, ignoreY, view.getFloat64(body + 11, true));
      set(2, ignoreZ, view.getFloat64(body + 19, true));
      set(3, ignoreYaw, view.getFloat32(body + 75, true));
      table.columns[4]![row] = frame;
      return true;
    },
  };
}

/**
 * Decodes trajectory_msgs/MultiDOFJointTrajectory: the first transform of the first point, what is to be reached now.
 * A message without one gives no row and is counted.
 */
export function trajectoryDecoder(): MessageDecoder {
  return {
    columns: ["x", "y", "z", "qx", "qy", "qz", "qw"],
    stamped: true,
    decode(view, at, end, table) {
      const namesAt = skipHeader(view, at, end, table);
      const pointsAt = namesAt < 0 ? -1 : skipStrings(view, namesAt, end);
      if (pointsAt < 0 || end - pointsAt < 8 || view.getUint32(pointsAt, true) === 0) return false;
      if (view.getUint32(pointsAt + 4, true) === 0) return false;
      const body = pointsAt + 8;
      if (body + 56 > end) return false;
      const row = table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
      for (let i = 0; i < 7; i++) table.columns[i]![row] = view.getFloat64(body + 8 * i, true);
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
export function batteryDecoder(options: { temperature: boolean }): MessageDecoder {
  const shift = options.temperature ? 4 : 0;
  const cellsAt = 28 + shift;
  return {
    columns: ["voltage", "current", "percentage", "cells"],
    stamped: true,
    decode(view, at, end, table) {
      const body = skipHeader(view, at, end, table);
      if (body < 0 || skipArray(view, body + cellsAt, end, 4) < 0) return false;
      const row = table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
      table.columns[0]![row] = view.getFloat32(body, true);
      table.columns[1]![row] = view.getFloat32(body + 4 + shift, true);
      table.columns[2]![row] = view.getFloat32(body + 20 + shift, true);
      table.columns[3]![row] = view.getUint32(body + cellsAt, true);
      return true;
    },
  };
}

/** Decodes mavros_msgs/RCOut: one column per channel (m0, m1, ...; pulse widths in microseconds), NaN where a message has fewer. */
export function motorsDecoder(): MessageDecoder {
  return {
    columns: [],
    stamped: true,
    decode(view, at, end, table) {
      const body = skipHeader(view, at, end, table);
      if (body < 0 || skipArray(view, body, end, 2) < 0) return false;
      const count = view.getUint32(body, true);
      if (count > mostChannels) return false;
      table.widen("m", count);
      const row = table.addRow(view.getUint32(at + 4, true), view.getUint32(at + 8, true));
      for (let i = 0; i < table.columns.length; i++)
        table.columns[i]![row] = i < count ? view.getUint16(body + 4 + 2 * i, true) : Number.NaN;
      return true;
    },
  };
}
