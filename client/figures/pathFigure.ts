import type { CampaignView } from "../../src/contract/api/campaignAnswer.ts";
import type { SeriesAnswer } from "../../src/contract/api/runAnswers.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { type AxisNames, axisLabel } from "../../src/words/places.ts";
import { bottomAxis, drawingId, group, leftAxis, runDrawing } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";
import { type Panels, panelsIn } from "./panels.ts";
import { equalScales, pixelsPerMetre } from "./plainAxis.ts";
import { tableMillimetres } from "./uncertainMillimetres.ts";

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

const tallest = 370;
const lowest = 170;
const legendHeight = 18;

/**
 * The path flown against the path commanded, in two views with one scale for both directions and both views. Drawn about
 * `origin`, so that millimetres can be read off a position of metres.
 *
 * @param options.origin  metres, in the frame of the path
 */
export function pathFigure(
  path: SeriesAnswer["path"],
  views: readonly PathView[],
  options: { width: number; tone: Tone; label: string; names: AxisNames; origin: Readonly<Record<Axis, number>> },
): Drawing {
  const both = [...path.measured, ...path.command];
  const about = (axis: Axis): [number, number] => {
    const [low, high] = pathExtent(both, axis) ?? [0, 0];
    return [low - options.origin[axis], high - options.origin[axis]];
  };
  // the height is not known before the width is
  const grid = (height: number): Panels =>
    panelsIn(views.length, options.width, { left: 62, between: 100, top: 60, height, foot: 44 });
  const panelWidth = grid(0).width;
  const extents = views.map(({ across, up }) => ({ across: about(across), up: about(up) }));
  const perMetre = pixelsPerMetre(extents, { width: panelWidth, height: tallest, least: 1e-3 });
  // a path that is all length and no height needs no tall panel
  const needed = 1.3 * perMetre * Math.max(...extents.map(({ up }) => up[1] - up[0]));
  const panelHeight = Math.min(tallest, Math.max(lowest, Math.ceil(needed)));
  const panels = grid(panelHeight);
  const svg = runDrawing(panels.height + legendHeight, options);
  const clip = drawingId("view");
  svg.append("clipPath").attr("id", clip).append("rect").attr("width", panelWidth).attr("height", panelHeight);
  views.forEach((view, k) => {
    const panel = group(svg, panels.at(k).x, panels.at(k).y + legendHeight);
    const { x, y } = equalScales(extents[k]!, { width: panelWidth, height: panelHeight, perMetre });
    const acrossOf = (metres: number): number => x(metres - options.origin[view.across]);
    const upOf = (metres: number): number => y(metres - options.origin[view.up]);
    bottomAxis(group(panel, 0, panelHeight), x, {
      per: 1e3,
      ticks: Math.min(7, panelWidth / 60),
      lines: panelHeight,
      label: `${axisLabel(view.across, options.names)}, mm`,
    });
    leftAxis(panel, y, {
      per: 1e3,
      ticks: panelHeight / 55,
      lines: panelWidth,
      label: `${axisLabel(view.up, options.names)}, mm`,
    });
    panel.append("text").attr("class", "panel-title").attr("x", 0).attr("y", -32).text(view.title);
    const inside = panel.append("g").attr("clip-path", `url(#${clip})`);
    inside
      .append("path")
      .attr("class", "path command")
      .attr("d", polylinePath(path.command, view, acrossOf, upOf));
    inside
      .append("path")
      .attr("class", "path measured")
      .attr("d", polylinePath(path.measured, view, acrossOf, upOf));
    const [a, b] = [pathExtent(path.command, view.across), pathExtent(path.command, view.up)];
    // a command that stands still would be a dot under the path
    if (a !== null && b !== null && Math.max(a[1] - a[0], b[1] - b[0]) * perMetre < 6) {
      inside
        .append("path")
        .attr("class", "mark setpoint-mark")
        .attr("transform", `translate(${acrossOf((a[0] + a[1]) / 2)},${upOf((b[0] + b[1]) / 2)})`)
        .attr("d", "M-11,0H11M0,-11V11");
    }
  });
  const legend = group(svg, panels.at(0).x, 0, "legend");
  legend.append("path").attr("class", "path measured").attr("d", "M0,8h26");
  legend.append("text").attr("class", "label").attr("x", 32).attr("y", 12).text("flown");
  legend.append("path").attr("class", "path command").attr("d", "M92,8h26");
  legend.append("text").attr("class", "label").attr("x", 124).attr("y", 12).text("commanded");
  return {
    svg: svg.node()!,
    get table() {
      return tableOf(path);
    },
  };
}

function tableOf(path: SeriesAnswer["path"]): Drawing["table"] {
  const rows = (["measured", "command"] as const).flatMap((name) =>
    path[name].flatMap((line, stretch) =>
      line.t.map((t, k) => [
        name === "measured" ? "flown" : "commanded",
        stretch + 1,
        Number(t.toFixed(6)),
        ...axes.map((axis) => tableMillimetres(line[axis][k]!)),
      ]),
    ),
  );
  return { columns: ["path", "stretch", "time, s", "x, mm", "y, mm", "z, mm"], rows };
}
