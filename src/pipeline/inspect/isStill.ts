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
 * messages only where it holds no setpoint and no command of the arm: what was commanded was flown. Its poses are read.
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
  if (pose === undefined || signals.has("vehicle_setpoint") || signals.has("effector_command")) return false;
  const bodies = (["vehicle_pose", "effector_pose"] as const).flatMap((signal) => {
    const topic = signals.get(signal);
    return topic === undefined ? [] : [{ signal, topic: topic.topic, children: topic.children }];
  });
  if (bodies.some(({ children }) => children.length > 1)) return false;
  const recording = await readLog(
    [path],
    bodies.map(({ signal, topic, children: [child] }) => ({
      signal,
      topic,
      ...(child === undefined ? {} : { child }),
    })),
  );
  return bodies.every(({ signal }) => {
    const columns = recording.signals.get(signal)?.columns;
    if (columns === undefined || (columns.x?.length ?? 0) < fewest) return false;
    const ranges = axes.map((axis: Axis) => extent(columns[axis] ?? new Float64Array()));
    // what was never seen stands in one place to the last digit
    return ranges.every(({ low, high }) => staysWithin(low, high)) && ranges.some(({ low, high }) => high > low);
  });
}

/** Fewer poses tell no noise. */
const fewest = 10;

/** A range this small has a smaller spread than a static capture may have; Infinity less -Infinity, of no number, is none. */
function staysWithin(low: number, high: number): boolean {
  return high >= low && high - low < defaultSettings.static_spread;
}
