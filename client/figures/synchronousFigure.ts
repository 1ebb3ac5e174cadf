import { type Axis, axes, type Subject } from "../../src/foundation/tracks.ts";
import { addressOf } from "../app/address.ts";
import { roleSigns } from "../app/statusWords.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, leftAxis, type Svg } from "./axes.ts";
import { ellipsePoints, type MeanRegion, meanRegion } from "./confidenceEllipse.ts";
import type { Drawing } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import { type Extent2, equalScales, type Phasor } from "./plainAxis.ts";
import { drawEllipse, type PolarFrame, polarFrame } from "./polarFrame.ts";
import { degreesText, tableMillimetres } from "./uncertainMillimetres.ts";

type Role = "baseline" | "candidate" | "sham";

/** The vectors of one run, one harmonic. */
export interface RunVectors {
  readonly run: string;
  readonly role: Role;
  readonly phasors: Readonly<Record<Axis, Phasor>>;
}

const radius = 124;
const roles = ["baseline", "candidate", "sham"] as const;
/** of the ink of the largest run about the middle of a close-up */
const room = 1.15;

/**
 * One harmonic of all used runs of both configurations and the sham, a polar plot per axis, with one millimetre scale unless asked otherwise: a
 * mark per run, above each configuration's mean as an open mark with a line from the centre and the 95 % confidence region of the mean.
 *
 * @param options.closeUp  at the scale of the runs' scatter: what lies about them, and not the centre
 */
export function synchronousFigure(
  runs: readonly RunVectors[],
  options: {
    width: number;
    subject: Subject;
    labels: Readonly<Record<Role, string>>;
    label: string;
    ownScales?: boolean;
    closeUp?: boolean;
    axisName?: (axis: Axis) => string;
  },
): Drawing {
  // below a panel: the words of its angles, or the numbers and name of its axis
  const foot = options.closeUp ? 48 : 28;
  const height = 2 * radius + 48 + foot;
  const panels = panelsIn(3, options.width, { left: 14, between: 0, top: 0, height, foot: 0, beside: 900 });
  const legendHeight = 24;
  const svg = blankDrawing(options.width, legendHeight + panels.height, options.label);
  svg.classed("run-drawing", true).attr("role", "group");
  const means = meansOf(runs);
  const reachOf = (axis: Axis): number =>
    Math.max(
      ...runs.map(({ phasors }) => Math.hypot(...phasors[axis].vector)),
      ...means
        .filter((mean) => mean.axis === axis)
        .map(({ region }) => Math.hypot(...region.mean) + (region.ellipse?.major ?? 0)),
    );
  const reaches = axes.map(reachOf);
  const common = Math.max(...reaches);
  const legend = group(svg, 14, 16, "legend");
  let at = 0;
  const flown = roles.filter((role) => runs.some((run) => run.role === role));
  for (const role of flown) {
    const mark = legend.append("g").attr("class", `tone-${role}`).attr("transform", `translate(${at},0)`);
    mark
      .append("path")
      .attr("class", `run-mark ${role}`)
      .attr("d", markPath[role])
      .attr("transform", "translate(0,-4)");
    const text = options.labels[role];
    legend
      .append("text")
      .attr("x", at + 12)
      .text(text);
    at += 44 + 6.8 * text.length;
  }
  const extents = axes.map((axis) => extentOf(runs, means, axis));
  const side = (extent: Extent2): number =>
    room * Math.max(extent.across[1] - extent.across[0], extent.up[1] - extent.up[0], 1e-5);
  const widest = Math.max(...extents.map(side));
  axes.forEach((axis, k) => {
    const place = {
      x: panels.at(k).x + panels.width / 2,
      y: legendHeight + panels.at(k).y + height - radius - foot,
      radius,
      title: options.axisName?.(axis) ?? axis,
    };
    const frame = options.closeUp
      ? closeFrame(svg, { ...place, extent: extents[k]!, side: options.ownScales ? side(extents[k]!) : widest })
      : polarFrame(svg, { ...place, reach: options.ownScales ? reaches[k]! : common });
    for (const role of flown) drawRole(frame, role, runs, axis, means, options.subject);
  });
  return { svg: svg.node()!, table: tableOf(runs, means, options.labels) };
}

const markPath: Readonly<Record<Role, string>> = {
  baseline: "M-4.5,0a4.5,4.5 0 1,0 9,0a4.5,4.5 0 1,0 -9,0Z",
  candidate: "M0,-5.5L5.5,0L0,5.5L-5.5,0Z",
  sham: "M-4,-4H4V4H-4Z",
};

function drawRole(
  frame: PolarFrame,
  role: Role,
  runs: readonly RunVectors[],
  axis: Axis,
  means: readonly AxisMean[],
  subject: Subject,
): void {
  const layer = frame.plot.append("g").attr("class", `tone-${role}`) as unknown as PolarFrame["plot"];
  const own: PolarFrame = { ...frame, plot: layer };
  const region = means.find((mean) => mean.role === role && mean.axis === axis)?.region;
  if (region?.ellipse) drawEllipse(own, region.mean, region.ellipse, "ellipse region");
  // beneath the runs, which it would hide
  if (region !== undefined) drawMean(own, role, region.mean);
  for (const one of runs) {
    if (one.role !== role) continue;
    const [x, y] = frame.at(one.phasors[axis].vector);
    layer
      .append("a")
      .attr("href", addressOf({ page: "run", run: one.run, subject, window: null }))
      .attr("class", "run-link")
      .attr("data-run", one.run)
      .append("path")
      .attr("class", `run-mark ${role}`)
      .attr("transform", `translate(${x.toFixed(2)},${y.toFixed(2)})`)
      .attr("d", markPath[role])
      .append("title")
      .text(one.run);
  }
}

/** Open, so that runs are seen through it. */
function drawMean({ plot: layer, at }: PolarFrame, role: Role, mean: readonly [number, number]): void {
  const [[x0, y0], [x, y]] = [at([0, 0]), at(mean)];
  const shaft = layer.append("line").attr("class", `mean-shaft ${role}`);
  shaft.attr("x1", x0).attr("y1", y0).attr("x2", x).attr("y2", y);
  layer
    .append("path")
    .attr("class", `mean-mark ${role}`)
    .attr("transform", `translate(${x.toFixed(2)},${y.toFixed(2)}) scale(1.3)`)
    .attr("d", markPath[role]);
}

/** The stretch that the runs of an axis and the regions of their means take, metres. */
function extentOf(runs: readonly RunVectors[], means: readonly AxisMean[], axis: Axis): Extent2 {
  const points = [
    ...runs.map(({ phasors }) => phasors[axis].vector),
    ...means.flatMap(({ axis: own, region }) => (own === axis ? ellipsePoints(region) : [])),
  ];
  const over = (part: 0 | 1): [number, number] => [
    Math.min(...points.map((point) => point[part])),
    Math.max(...points.map((point) => point[part])),
  ];
  return { across: over(0), up: over(1) };
}

/** A square of the plane about the runs, with its scales in millimetres; zero's lines where they are in sight. */
function closeFrame(
  svg: Svg,
  look: { x: number; y: number; radius: number; title: string; extent: Extent2; side: number },
): PolarFrame {
  const size = 2 * look.radius;
  const perMetre = size / look.side;
  const { x, y } = equalScales(look.extent, { width: size, height: size, perMetre });
  const panel = group(svg, look.x - look.radius + 16, look.y - look.radius);
  bottomAxis(group(panel, 0, size), x, { per: 1e3, ticks: 4, lines: size, label: "a cos φ, mm" });
  leftAxis(panel, y, { per: 1e3, ticks: 4, lines: size, label: `${look.title}: a sin φ, mm` });
  const clip = drawingId("close");
  panel.append("clipPath").attr("id", clip).append("rect").attr("width", size).attr("height", size);
  const inside = panel.append("g").attr("clip-path", `url(#${clip})`) as unknown as Group;
  for (const [line, at] of [
    ["x", x(0)],
    ["y", y(0)],
  ] as const) {
    const zero = inside.append("line").attr("class", "zero").attr(`${line}1`, at).attr(`${line}2`, at);
    zero.attr(line === "x" ? "y2" : "x2", size);
  }
  return { plot: inside, perMetre, at: ([u, v]) => [x(u), y(v)] };
}

export interface AxisMean {
  readonly role: Role;
  readonly axis: Axis;
  readonly region: MeanRegion;
}

/** Means of both configurations on every axis; left out where a configuration has no run. */
export function meansOf(runs: readonly RunVectors[]): AxisMean[] {
  return roles.flatMap((role) =>
    axes.flatMap((axis) => {
      const region = meanRegion(runs.filter((one) => one.role === role).map(({ phasors }) => phasors[axis].vector));
      return region === null ? [] : [{ role, axis, region }];
    }),
  );
}

function tableOf(
  runs: readonly RunVectors[],
  means: readonly AxisMean[],
  labels: Readonly<Record<Role, string>>,
): Drawing["table"] {
  const row = (name: string, role: Role, axis: Axis, vector: readonly [number, number], region: MeanRegion | null) => [
    name,
    `${roleSigns[role]} ${labels[role]}`,
    axis,
    tableMillimetres(Math.hypot(...vector)),
    Number.parseInt(degreesText(Math.atan2(vector[1], vector[0])), 10),
    region?.ellipse ? tableMillimetres(region.ellipse.major) : null,
    region?.ellipse ? tableMillimetres(region.ellipse.minor) : null,
  ];
  return {
    columns: [
      "run",
      "configuration",
      "axis",
      "amplitude, mm",
      "phase, degrees",
      "region's long half axis, mm",
      "region's short half axis, mm",
    ],
    rows: [
      ...runs.flatMap(({ run, role, phasors }) => axes.map((axis) => row(run, role, axis, phasors[axis].vector, null))),
      ...means.map(({ role, axis, region }) => row(`mean of ${region.n}`, role, axis, region.mean, region)),
    ],
  };
}
