import type { LogInspection } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import { type Axis, axes } from "../../foundation/signals.ts";
import { extent } from "../../numeric/extent.ts";
import { factorIn } from "../../readers/inSI.ts";
import { readLog } from "../../readers/readLog.ts";
import { assignSignals } from "../../report/draft/assignSignals.ts";

type Found = Pick<LogInspection, "format" | "topics" | "table" | "points">;

/**
 * Whether a log is that of a static capture: the vehicle's body stays within a few millimetres on every axis.
 *
 * Of a table only where its heading tells the unit of lengths; its survey knows the range of each column. Of a log of
 * messages only where it holds no setpoint: what was commanded was flown. Its poses are read.
 *
 * @param path  of the log
 * @throws LogError  code `log-unreadable`: it cannot be read
 */
export async function isStill(found: Found, path: string): Promise<boolean> {
  if (found.table !== null) return isStillTable(found.table);
  // an autopilot's log is that of a flight; which markers make the vehicle only a person knows
  if (found.points !== null || found.format === "ULog") return false;
  return isStillRecording(found, path);
}

function isStillTable(table: NonNullable<LogInspection["table"]>): boolean {
  const pose = table.proposals.find(({ signal }) => signal === "vehicle_pose");
  if (pose === undefined) return false;
  const metres = factorIn(pose.units.position ?? "", "m");
  if (metres === null) return false;
  return axes.every((axis) => {
    const column = table.columns.find(({ name }) => name === pose.columns[axis]);
    if (column === undefined || column.lowest === null || column.highest === null) return false;
    return staysWithin(column.lowest * metres, column.highest * metres);
  });
}

async function isStillRecording({ topics }: Found, path: string): Promise<boolean> {
  const signals = assignSignals(topics);
  const pose = signals.get("vehicle_pose");
  if (pose === undefined || signals.has("vehicle_setpoint") || pose.children.length > 1) return false;
  const [child] = pose.children;
  const request = { signal: "vehicle_pose", topic: pose.topic, ...(child === undefined ? {} : { child }) } as const;
  const columns = (await readLog([path], [request])).signals.get("vehicle_pose")?.columns;
  if (columns === undefined) return false;
  return axes.every((axis: Axis) => {
    const { low, high } = extent(columns[axis] ?? new Float64Array());
    return staysWithin(low, high);
  });
}

/** A range this small has a smaller spread than a static capture may have; Infinity less -Infinity, of no number, is none. */
function staysWithin(low: number, high: number): boolean {
  return high >= low && high - low < defaultSettings.static_spread;
}
