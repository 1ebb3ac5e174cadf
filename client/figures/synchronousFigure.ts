import { type Axis, axes, type Subject } from "../../src/foundation/tracks.ts";
import { addressOf } from "../app/address.ts";
import { roleSigns } from "../app/statusWords.ts";
import { blankDrawing, group } from "./axes.ts";
import { type MeanRegion, meanRegion } from "./confidenceEllipse.ts";
import type { Drawing } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import type { Phasor } from "./plainAxis.ts";
import { drawEllipse, type PolarFrame, polarFrame } from "./polarFrame.ts";
import { degreesText, tableMillimetres } from "./uncertainMillimetres.ts";

type Role = "baseline" | "candidate";

/** The vectors of one run, one harmonic. */
export interface RunVectors {
  readonly run: string;
  readonly role: Role;
  readonly phasors: Readonly<Record<Axis, Phasor>>;
}

const radius = 124;
const roles = ["baseline", "candidate"] as const;

/**
 * One harmonic of all used runs of both configurations, a polar plot per axis, with one millimetre scale unless asked otherwise: a mark per run,
 * each configuration's mean as a larger mark with a line from the centre and the 95 % confidence region of the mean.
 */
export function synchronousFigure(
  runs: readonly RunVectors[],
  options: {
    width: number;
    subject: Subject;
    labels: Readonly<Record<Role, string>>;
    label: string;
    ownScales?: boolean;
    axisName?: (axis: Axis) => string;
  },
): Drawing {
  const height = 2 * radius + 76;
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
  for (const role of roles) {
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
  axes.forEach((axis, k) => {
    const frame = polarFrame(svg, {
      x: panels.at(k).x + panels.width / 2,
      y: legendHeight + panels.at(k).y + height - radius - 28,
      radius,
      reach: options.ownScales ? reaches[k]! : common,
      title: options.axisName?.(axis) ?? axis,
    });
    for (const role of roles) drawRole(frame, role, runs, axis, means, options.subject);
  });
  return { svg: svg.node()!, table: tableOf(runs, means, options.labels) };
}

const markPath: Readonly<Record<Role, string>> = {
  baseline: "M-4.5,0a4.5,4.5 0 1,0 9,0a4.5,4.5 0 1,0 -9,0Z",
  candidate: "M0,-5.5L5.5,0L0,5.5L-5.5,0Z",
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
  const [x, y] = at(mean);
  layer.append("line").attr("class", `mean-shaft ${role}`).attr("x2", x).attr("y2", y);
  layer
    .append("path")
    .attr("class", `mean-mark ${role}`)
    .attr("transform", `translate(${x.toFixed(2)},${y.toFixed(2)}) scale(1.55)`)
    .attr("d", markPath[role]);
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
