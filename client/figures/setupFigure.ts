import type { SetupAnswer } from "../../src/contract/api/setupAnswer.ts";
import type { Axis } from "../../src/foundation/signals.ts";
import { fixed, lengthText, massText } from "../app/words.ts";
import { blankDrawing, bottomAxis, drawingId, type Group, group, leftAxis } from "./axes.ts";
import { type Extent2, equalScales, pixelsPerMetre } from "./equalScales.ts";
import type { Drawing } from "./Figure.ts";
import type { Tone } from "./tone.ts";

/** A run as the rig is drawn from it. */
export interface RigRun extends SetupAnswer {
  readonly tone: Tone;
  /** a finding about frames stands against it */
  readonly doubted: boolean;
  /** mass and place in the vehicle's frame, drawn at the first run of a configuration; empty for the others */
  readonly weights: readonly { readonly mass: number; readonly at: readonly [number, number, number] }[];
}

/** metres between mean tool and mean command from which the distance is drawn */
export const farApart = 0.03;
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
 * arm base, commanded path and flown tool; below, the neighbourhood of the tool alone. Millimetres between mean tool and mean
 * command are written where they are many.
 *
 * @param options.width  pixels there are: two panels beside each other, or one above the other
 */
export function setupFigure(
  runs: readonly RigRun[],
  options: { readonly width: number; readonly label: string },
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
    const extents = extentOf(runs, view);
    const perMetre = pixelsPerMetre([extents], { ...panel, least: view.close ? 0.05 : 0.5 });
    const scales = equalScales(extents, { ...panel, perMetre });
    const own = group(svg, (k % columns) * step + left, Math.floor(k / columns) * (panel.height + top + bottom) + top);
    const unit = view.close ? { per: 1e3, label: "mm" } : { per: 1, label: "m" };
    bottomAxis(group(own, 0, panel.height), scales.x, {
      ticks: panel.width / 80,
      lines: panel.height,
      per: unit.per,
      label: `${view.across}, ${unit.label}`,
    });
    leftAxis(own, scales.y, {
      ticks: panel.height / 55,
      lines: panel.width,
      per: unit.per,
      label: `${view.up}, ${unit.label}`,
    });
    own.append("text").attr("class", "panel-title").attr("x", 0).attr("y", -28).text(view.title);
    const clip = drawingId("rig");
    own.append("clipPath").attr("id", clip).append("rect").attr("width", panel.width).attr("height", panel.height);
    const inside = own.append("g").attr("clip-path", `url(#${clip})`) as unknown as Group;
    drawView(inside, runs, view, scales, perMetre);
  }
  return { svg: svg.node()!, table: tableOf(runs) };
}

interface Scales {
  readonly x: (metres: number) => number;
  readonly y: (metres: number) => number;
}

function drawView(inside: Group, runs: readonly RigRun[], view: RigView, { x, y }: Scales, perMetre: number): void {
  const { across, up, close } = view;
  const at = (point: readonly [number, number, number]): [number, number] => [
    x(point[index[across]]),
    y(point[index[up]]),
  ];
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
      inside
        .append("text")
        .attr("class", "label quiet-text")
        .attr("x", x(a[0]) + 4)
        .attr("y", y(b[1]) + 14)
        .text(`flown: ${fixed(a[1] - a[0], 2)} × ${fixed(b[1] - b[0], 2)} m`);
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
    const tone = `tone-${run.tone}${run.doubted ? " rig-doubted" : ""}`;
    const own = inside.append("g").attr("class", tone) as unknown as Group;
    own.append("path").attr("class", "path measured").attr("d", line(run.tool));
    if (run.hover !== null) vehicle(own, run, at, close ? 0 : Math.max(nose, 26 / perMetre));
  }
  // above what was flown: twenty runs would hide it
  for (const run of runs) inside.append("path").attr("class", "rig-command").attr("d", line(run.command));
  for (const run of runs) if ((run.apart ?? 0) >= farApart) gap(inside, run, at);
}

/** A vehicle as a dart that shows its nose, its arm base as a square, its counterweights as discs with their mass. */
function vehicle(
  own: Group,
  run: RigRun,
  at: (point: readonly [number, number, number]) => [number, number],
  size: number,
): void {
  const { hover, heading, arm_base: base, weights } = run;
  const place = (forward: number, left: number, above: number): [number, number] => {
    const [c, s] = [Math.cos(heading ?? 0), Math.sin(heading ?? 0)];
    return at([hover![0] + c * forward - s * left, hover![1] + s * forward + c * left, hover![2] + above]);
  };
  if (size > 0 && heading !== null) {
    const dart = [
      place(size, 0, 0),
      place(-size / 2, size / 2, 0),
      place(-size / 4, 0, 0),
      place(-size / 2, -size / 2, 0),
    ];
    own
      .append("path")
      .attr("class", "rig-vehicle")
      .attr("d", `M${dart.map((point) => point.map((v) => v.toFixed(1)).join()).join("L")}Z`);
  }
  const [cx, cy] = at(hover!);
  own.append("circle").attr("class", "rig-point").attr("cx", cx).attr("cy", cy).attr("r", 2.5);
  if (base !== null) {
    const [bx, by] = at(base);
    own.append("path").attr("class", "rig-arm").attr("d", `M${cx},${cy}L${bx},${by}`);
    own
      .append("rect")
      .attr("class", "rig-base")
      .attr("x", bx - 3)
      .attr("y", by - 3)
      .attr("width", 6)
      .attr("height", 6);
  }
  const labelled = new Set<number>();
  for (const { mass, at: where } of weights) {
    const [wx, wy] = place(...where);
    own.append("circle").attr("class", "rig-weight").attr("cx", wx).attr("cy", wy).attr("r", 5);
    if (labelled.has(mass)) continue;
    labelled.add(mass);
    const alike = weights.filter((weight) => weight.mass === mass).length;
    const text = alike === 1 ? massText(mass) : `${alike} × ${massText(mass)}`;
    own
      .append("text")
      .attr("class", "label")
      .attr("x", wx - 8)
      .attr("y", wy + 4)
      .attr("text-anchor", "end")
      .text(text);
  }
}

/** The way from where the tool was asked to be to where it was, in the colour of doubts. */
function gap(inside: Group, run: RigRun, at: (point: readonly [number, number, number]) => [number, number]): void {
  const middle = ({ x, y, z }: SetupAnswer["tool"]): [number, number, number] =>
    [x, y, z].map((values) => values.reduce((sum, value) => sum + value, 0) / values.length) as [
      number,
      number,
      number,
    ];
  if (run.tool.x.length === 0 || run.command.x.length === 0) return;
  const [[ax, ay], [bx, by]] = [at(middle(run.command)), at(middle(run.tool))];
  inside.append("path").attr("class", "rig-gap").attr("d", `M${ax},${ay}L${bx},${by}`);
  inside
    .append("text")
    .attr("class", "label rig-gap-text")
    .attr("x", (ax + bx) / 2 + 6)
    .attr("y", (ay + by) / 2)
    .text(lengthText(run.apart!));
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
        ];
    if (values.length === 0) return [-0.5, 0.5];
    return [values.reduce((a, b) => Math.min(a, b)), values.reduce((a, b) => Math.max(a, b))];
  };
  return { across: of(across), up: of(up) };
}

function tableOf(runs: readonly RigRun[]): Drawing["table"] {
  return {
    columns: ["run", "hover x, m", "hover y, m", "hover z, m", "heading, degrees", "tool less command, mm"],
    rows: runs.map(({ run, hover, heading, apart }) => [
      run,
      ...(hover ?? [null, null, null]),
      heading === null ? null : Number(((heading * 180) / Math.PI).toFixed(1)),
      apart === null ? null : Number((apart * 1e3).toFixed(1)),
    ]),
  };
}
