import type { SetupAnswer } from "../../src/contract/api/campaignAnswer.ts";
import type { Axis } from "../../src/foundation/tracks.ts";
import { type AxisNames, axisLabel } from "../../src/words/places.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, leftAxis } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { type Extent2, equalScales, pixelsPerMetre } from "./plainAxis.ts";
import {
  drawCentreOfMass,
  drawGap,
  drawWeights,
  labelGap,
  type Placer,
  type Point,
  type RigMarks,
  type RigRun,
  vehicle,
} from "./rigParts.ts";

const nose = 0.16;
const index: Readonly<Record<Axis, 0 | 1 | 2>> = { x: 0, y: 1, z: 2 };

interface RigView {
  readonly title: string;
  readonly across: Axis;
  readonly up: Axis;
  readonly close: boolean;
}

const views: readonly RigView[] = [
  { title: "From above", across: "x", up: "y", close: false },
  { title: "From the side", across: "x", up: "z", close: false },
  { title: "The arm's work, from above", across: "x", up: "y", close: true },
  { title: "The arm's work, from the side", across: "x", up: "z", close: true },
];

/**
 * The rig to scale: the box that was flown in, the world's origin and axes, every run's vehicle at its mean hover with its nose,
 * its setpoint, arm base, commanded path and flown tool; below, the neighbourhood of the tool alone.
 *
 * @param options.width  pixels there are: two panels beside each other, or one above the other
 */
export function setupFigure(
  runs: readonly RigRun[],
  marks: RigMarks,
  options: { readonly width: number; readonly label: string; readonly names: AxisNames },
): Drawing {
  const columns = options.width < 760 ? 1 : 2;
  const shown = views.filter(
    ({ close }) => !close || runs.some(({ tool, command }) => tool.x.length + command.x.length > 0),
  );
  const step = options.width / columns;
  const [left, top, right, bottom] = [52, 44, 14, 44];
  const panel = { width: step - left - right, height: Math.min(380, 0.72 * (step - left - right)) };
  const rows = Math.ceil(shown.length / columns);
  const svg = blankDrawing(options.width, rows * (panel.height + top + bottom), options.label);
  svg.classed("run-drawing rig", true);
  for (const [k, view] of shown.entries()) {
    const own = group(svg, (k % columns) * step + left, Math.floor(k / columns) * (panel.height + top + bottom) + top);
    drawPanel(own, { runs, marks, view, panel, names: options.names });
  }
  return { svg: svg.node()!, table: tableOf(runs) };
}

interface Panel {
  readonly runs: readonly RigRun[];
  readonly marks: RigMarks;
  readonly view: RigView;
  readonly names: AxisNames;
  readonly panel: { readonly width: number; readonly height: number };
}

function drawPanel(own: Group, { runs, marks, view, panel, names }: Panel): void {
  const extents = extentOf(runs, view);
  const perMetre = pixelsPerMetre([extents], { ...panel, least: view.close ? 0.05 : 0.5 });
  const scales = equalScales(extents, { ...panel, perMetre });
  const unit = view.close ? { per: 1e3, label: "mm" } : { per: 1, label: "m" };
  bottomAxis(group(own, 0, panel.height), scales.x, {
    ticks: panel.width / 80,
    lines: panel.height,
    per: unit.per,
    label: `${axisLabel(view.across, names)}, ${unit.label}`,
  });
  leftAxis(own, scales.y, {
    ticks: panel.height / 55,
    lines: panel.width,
    per: unit.per,
    label: `${axisLabel(view.up, names)}, ${unit.label}`,
  });
  const arena = arenaOf(runs);
  const size = (axis: Axis): string => fixed(arena![axis][1] - arena![axis][0], 2);
  const flown = view.close || arena === null ? "" : `; flown in ${size(view.across)} × ${size(view.up)} m`;
  own.append("text").attr("class", "panel-title").attr("x", 0).attr("y", -28).text(`${view.title}${flown}`);
  const clip = drawingId("rig");
  own.append("clipPath").attr("id", clip).append("rect").attr("width", panel.width).attr("height", panel.height);
  const inside = own.append("g").attr("clip-path", `url(#${clip})`) as unknown as Group;
  drawView(inside, runs, view, scales, perMetre);
  const at = placer(view, scales);
  if (!view.close) {
    drawWeights(inside, runs, marks.weights, at);
    if (marks.com !== null) drawCentreOfMass(inside, runs, marks.com, at);
  }
  const gaps = marks.gaps.filter((gap) => !view.close || gap.of === "tool");
  for (const gap of gaps) drawGap(inside, gap, at);
  // above all lines, and not all at the same part of theirs
  for (const [k, gap] of gaps.filter(({ text }) => text !== "").entries())
    labelGap(inside, gap, at, 0.35 + 0.15 * (k % 3));
}

function placer({ across, up }: RigView, { x, y }: Scales): Placer {
  return (point) => [x(point[index[across]]), y(point[index[up]])];
}

interface Scales {
  readonly x: (metres: number) => number;
  readonly y: (metres: number) => number;
}

function drawView(inside: Group, runs: readonly RigRun[], view: RigView, { x, y }: Scales, perMetre: number): void {
  const { across, up, close } = view;
  const at = placer(view, { x, y });
  const line = (path: SetupAnswer["tool"]): string =>
    path.x.length === 0
      ? ""
      : `M${path[across].map((value, k) => `${x(value).toFixed(1)},${y(path[up][k]!).toFixed(1)}`).join("L")}`;
  if (!close) {
    const arena = arenaOf(runs);
    if (arena !== null) {
      const [a, b] = [arena[across], arena[up]];
      inside
        .append("rect")
        .attr("class", "rig-arena")
        .attr("x", x(a[0]))
        .attr("y", y(b[1]))
        .attr("width", x(a[1]) - x(a[0]))
        .attr("height", y(b[0]) - y(b[1]));
    }
    const [ox, oy] = at([0, 0, 0]);
    inside
      .append("path")
      .attr("class", "rig-origin")
      .attr("d", `M${ox},${oy}h34m-5,-4l5,4l-5,4M${ox},${oy}v-34m-4,5l4,-5l4,5`);
    inside
      .append("text")
      .attr("class", "label")
      .attr("x", ox + 38)
      .attr("y", oy + 4)
      .text(across);
    inside
      .append("text")
      .attr("class", "label")
      .attr("x", ox + 8)
      .attr("y", oy - 30)
      .text(up);
  }
  for (const run of runs) {
    const { vehicle: badVehicle, tool: badTool } = run.doubted;
    const marks = `${badVehicle ? " rig-doubted-vehicle" : ""}${badTool ? " rig-doubted-tool" : ""}`;
    const own = inside.append("g").attr("class", `tone-${run.tone}${marks}`) as unknown as Group;
    own.append("path").attr("class", "path measured").attr("d", line(run.tool));
    if (run.hover !== null) vehicle(own, run, at, close ? 0 : Math.max(nose, 26 / perMetre));
  }
  // above what was flown: twenty runs would hide it
  for (const run of runs) inside.append("path").attr("class", "rig-command").attr("d", line(run.command));
  if (close) return;
  for (const { setpoint } of runs) {
    if (setpoint === null) continue;
    const [sx, sy] = at(setpoint);
    inside
      .append("path")
      .attr("class", "rig-setpoint")
      .attr("d", `M${sx - 6},${sy}h12M${sx},${sy - 6}v12`);
  }
}

function arenaOf(runs: readonly RigRun[]): NonNullable<SetupAnswer["flown"]> | null {
  const boxes = runs.flatMap(({ flown }) => (flown === null ? [] : [flown]));
  if (boxes.length === 0) return null;
  const of = (axis: Axis): [number, number] => [
    Math.min(...boxes.map((box) => box[axis][0])),
    Math.max(...boxes.map((box) => box[axis][1])),
  ];
  return { x: of("x"), y: of("y"), z: of("z") };
}

/** What a view has to hold: the arena and the origin, or the paths of tool and command. */
function extentOf(runs: readonly RigRun[], { across, up, close }: RigView): Extent2 {
  const arena = arenaOf(runs);
  const of = (axis: Axis): [number, number] => {
    const values = close
      ? runs.flatMap(({ tool, command }) => [...tool[axis], ...command[axis]])
      : [
          0,
          ...(arena === null ? [] : arena[axis]),
          // a dart and its counterweights reach beyond where the body point was
          ...runs.flatMap(({ hover }) =>
            hover === null ? [] : [hover[index[axis]] - nose, hover[index[axis]] + nose],
          ),
          ...runs.flatMap(({ setpoint, command }) => [
            ...(setpoint === null ? [] : [setpoint[index[axis]]]),
            ...command[axis],
          ]),
        ];
    if (values.length === 0) return [-0.5, 0.5];
    return [values.reduce((a, b) => Math.min(a, b)), values.reduce((a, b) => Math.max(a, b))];
  };
  return { across: of(across), up: of(up) };
}

function tableOf(runs: readonly RigRun[]): Drawing["table"] {
  const degrees = (angle: number | null): number | null =>
    angle === null ? null : Number(((angle * 180) / Math.PI).toFixed(1));
  const three = (point: Point | null): readonly (number | null)[] => point ?? [null, null, null];
  const places = ["hover", "setpoint"].flatMap((what) => ["x", "y", "z"].map((axis) => `${what} ${axis}, m`));
  return {
    columns: ["run", ...places, "heading, degrees", "commanded heading, degrees", "tool less command, mm"],
    rows: runs.map(({ run, hover, setpoint, heading, heading_commanded: asked, apart }) => [
      run,
      ...three(hover),
      ...three(setpoint),
      degrees(heading),
      degrees(asked),
      apart === null ? null : Number((apart * 1e3).toFixed(1)),
    ]),
  };
}
