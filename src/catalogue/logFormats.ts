/**
 * The log formats that are read: `name` stands in evaluations and inspections, `plural` in messages; `kind` is what a log of it
 * holds: messages of topics, an autopilot's own log, a table with columns, or captured points.
 */
export const logFormats = {
  rosbag1: { name: "ROS 1 bag", plural: "ROS 1 bags", kind: "messages" },
  mcap: { name: "MCAP", plural: "MCAP files", kind: "messages" },
  ros2: { name: "ROS 2 bag", plural: "ROS 2 bags (the folder, or one of its files)", kind: "messages" },
  ulog: { name: "ULog", plural: "ULog files", kind: "autopilot" },
  parquet: { name: "Parquet", plural: "Parquet files", kind: "table" },
  c3d: { name: "C3D", plural: "C3D files", kind: "points" },
  table: { name: "table", plural: "tables as text (CSV and the like)", kind: "table" },
} as const;

export type LogFormat = keyof typeof logFormats;
export type LogFormatName = (typeof logFormats)[LogFormat]["name"];
export type LogKind = (typeof logFormats)[LogFormat]["kind"];

/** What a log of the format of this name holds; null where there is no such format. */
export function logKind(name: string | null | undefined): LogKind | null {
  return Object.values(logFormats).find((format) => format.name === name)?.kind ?? null;
}
