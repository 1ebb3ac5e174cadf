import type { LogFormat } from "../catalogue/logFormats.ts";
import type { LogReader } from "./LogReader.ts";

/** Each reader is loaded when a log needs it. */
const readers: Readonly<Record<LogFormat, () => Promise<LogReader>>> = {
  rosbag1: async () => (await import("./rosbag/rosbagReader.ts")).rosbagReader,
  mcap: async () => (await import("./mcap/mcapReader.ts")).mcapReader,
  ros2: async () => (await import("./ros2/ros2Reader.ts")).ros2Reader,
  ulog: async () => (await import("./ulog/ulogReader.ts")).ulogReader,
  parquet: async () => (await import("./parquet/parquetReader.ts")).parquetReader,
  c3d: async () => (await import("./c3d/c3dReader.ts")).c3dReader,
  table: async () => (await import("./table/tableReader.ts")).tableReader,
};

export function readerOf(format: LogFormat): Promise<LogReader> {
  return readers[format]();
}
