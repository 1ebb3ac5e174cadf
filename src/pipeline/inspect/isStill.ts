import type { LogInspection } from "../../contract/inspection.ts";
import { defaultSettings } from "../../contract/settings.ts";
import { factorIn } from "../../readers/inSI.ts";

/**
 * Whether a table is that of a static capture: the body stays within a few millimetres on every axis. Only where the heading
 * tells the unit of lengths, and only of tables, whose survey knows the range of each column.
 */
export function isStill({ table }: Pick<LogInspection, "table">): boolean {
  const pose = table?.proposals.find(({ signal }) => signal === "vehicle_pose");
  if (table === null || pose === undefined) return false;
  const metres = factorIn(pose.units.position ?? "", "m");
  if (metres === null) return false;
  return ["x", "y", "z"].every((axis) => {
    const column = table.columns.find(({ name }) => name === pose.columns[axis]);
    if (column === undefined || column.lowest === null || column.highest === null) return false;
    // a range this small has a smaller spread than a static capture may have
    return (column.highest - column.lowest) * metres < defaultSettings.static_spread;
  });
}
