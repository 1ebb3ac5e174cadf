import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import type { Axis } from "../../src/foundation/tracks.ts";

type Polyline = SeriesAnswer["path"]["measured"][number];

/** One look at a path: which axis goes across and which goes up. */
export interface PathView {
  readonly across: Axis;
  readonly up: Axis;
  readonly title: string;
}

/**
 * The trajectory's own plane and an elevation (z up) at right angles to it. A line lies in every plane through its axis:
 * it is shown from above and from the side, along z from two sides. What has no plane is shown from above and from the side.
 */
export function pathViews({ plane, axis }: Pick<CampaignView["trajectories"][number], "plane" | "axis">): PathView[] {
  const view = (across: Axis, up: Axis, words: string): PathView => ({ across, up, title: `${across}${up}: ${words}` });
  switch (plane) {
    case "yz":
      return [view("y", "z", "the trajectory's plane"), view("x", "z", "elevation, edge on")];
    case "xz":
      return [view("x", "z", "the trajectory's plane"), view("y", "z", "elevation, edge on")];
    case "xy":
      return [view("x", "y", "the trajectory's plane"), view("x", "z", "elevation, edge on")];
    default:
      break;
  }
  if (axis === "z") return [view("x", "z", "elevation"), view("y", "z", "elevation from the other side")];
  if (axis === "y") return [view("x", "y", "from above"), view("y", "z", "elevation along the line")];
  return [view("x", "y", "from above"), view("x", "z", axis === "x" ? "elevation along the line" : "elevation")];
}

/** Lowest and highest of an axis over some polylines; null where they hold no point. */
export function pathExtent(lines: readonly Polyline[], axis: Axis): [number, number] | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const line of lines) {
    for (const value of line[axis]) {
      if (value < low) low = value;
      if (value > high) high = value;
    }
  }
  return low <= high ? [low, high] : null;
}

/** Path data of polylines, one subpath each: nothing joins the end of one to the start of the next. */
export function polylinePath(
  lines: readonly Polyline[],
  { across, up }: Pick<PathView, "across" | "up">,
  x: (metres: number) => number,
  y: (metres: number) => number,
): string {
  return lines
    .filter(({ t }) => t.length > 0)
    .map((line) => {
      const points = line[across].map((value, k) => `${x(value).toFixed(2)},${y(line[up][k]!).toFixed(2)}`);
      return `M${points.join("L")}${points.length === 1 ? "h0" : ""}`;
    })
    .join("");
}
