import { scaleLinear } from "d3";
import type { BenchEvaluation } from "../../src/contract/benchEvaluation.ts";
import { channelWords } from "../../src/words/benchWords.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, type Group, group, leftAxis, padded } from "./axes.ts";
import { type BenchChannelName, type BenchSide, markOf, sidesLegend } from "./benchPhaseFigure.ts";
import type { Drawing } from "./Figure.ts";
import { logBottomAxis, logLeftAxis, logScale } from "./logAxes.ts";
import { panelsIn } from "./panels.ts";

const panelHeight = 230;
const head = 34;
type Growth = BenchEvaluation["growth"][number];

/** A reading of a channel over the arm's travel. */
export interface GrowthPoint {
  readonly channel: BenchChannelName;
  readonly role: BenchSide["role"];
  /** null where it is a mean over refits */
  readonly run: string | null;
  /** hertz */
  readonly rate: number;
  /** N per metre of travel, of moments N */
  readonly value: number;
}

interface Look {
  readonly width: number;
  readonly label: string;
}

/**
 * Forces over the arm's travel against the cycle rate, both logarithmic: runs as marks, the slope found as a line through their
 * middle, and slope 2, inertia alone, broken.
 *
 * @param growth  of forces, of one trajectory
 */
export function forceGrowthFigure(
  points: readonly GrowthPoint[],
  growth: readonly Growth[],
  sides: readonly BenchSide[],
  look: Look,
): Drawing {
  const channels = [...new Set(growth.map(({ channel }) => channel))];
  const { svg, panel, width } = frame(channels.length, sides, look);
  const x = logScale(
    points.map(({ rate }) => rate),
    [0, width],
  )!;
  channels.forEach((channel, k) => {
    const own = points.filter((point) => point.channel === channel && point.value > 0);
    const y = logScale(
      own.map(({ value }) => value),
      [panelHeight, 0],
    );
    if (y === null) return;
    const into = panel(k);
    logLeftAxis(into, y, { lines: width, label: `${channelWords[channel]} over travel, N/m` });
    logBottomAxis(group(into, 0, panelHeight), x, { lines: panelHeight, label: "cycle rate, Hz" });
    for (const { key, role } of sides) {
      const side = own.filter((point) => point.role === role);
      const slope = growth.find((one) => one.channel === channel && one.configuration === key)?.exponent ?? null;
      if (side.length === 0) continue;
      const layer = into.append("g").attr("class", `tone-${role}`) as unknown as Group;
      const middle = (of: (point: GrowthPoint) => number): number =>
        Math.exp(side.reduce((sum, point) => sum + Math.log(of(point)), 0) / side.length);
      const [rate, value] = [middle((point) => point.rate), middle((point) => point.value)];
      const rates = side.map((point) => point.rate);
      const line = (power: number, name: string): void => {
        const ends = [Math.min(...rates), Math.max(...rates)].map(
          (end) => `${x(end)},${y(value * (end / rate) ** power)}`,
        );
        layer
          .append("path")
          .attr("class", name)
          .attr("d", `M${ends.join("L")}`);
      };
      line(2, "line target");
      if (slope !== null) line(slope, "curve");
      marks(layer, side, (point) => [x(point.rate), y(point.value)]);
    }
  });
  return {
    svg,
    table: {
      columns: ["channel", "configuration", "run", "cycle rate, Hz", "force over travel, N/m"],
      rows: points.map((point) => rowOf(point, sides)),
    },
  };
}

/**
 * Moments over the arm's travel against the square of the angular rate: means over refits as marks, the straight line found. Where it
 * meets the left edge stands gravity alone; what it climbs by is inertia.
 *
 * @param growth  of moments, of one trajectory
 */
export function momentGrowthFigure(
  points: readonly GrowthPoint[],
  growth: readonly Growth[],
  sides: readonly BenchSide[],
  look: Look,
): Drawing {
  const channels = [...new Set(growth.map(({ channel }) => channel))];
  const { svg, panel, width } = frame(channels.length, sides, look);
  const squared = (rate: number): number => (2 * Math.PI * rate) ** 2;
  const end = 1.06 * Math.max(...points.map(({ rate }) => squared(rate)));
  const x = scaleLinear().domain([0, end]).range([0, width]);
  channels.forEach((channel, k) => {
    const own = points.filter((point) => point.channel === channel);
    const lines = growth.filter((one) => one.channel === channel && one.gravity !== null && one.inertial !== null);
    const at = ({ gravity, inertial }: Growth, square: number): number => gravity!.value + inertial!.value * square;
    const all = [...own.map(({ value }) => value), ...lines.flatMap((one) => [at(one, 0), at(one, end)])];
    const y = scaleLinear()
      .domain(padded(Math.min(...all), Math.max(...all)))
      .range([panelHeight, 0]);
    const into = panel(k);
    leftAxis(into, y, { lines: width, label: `${channelWords[channel]} over travel, N` });
    bottomAxis(group(into, 0, panelHeight), x, { label: "(2π rate)², 1/s²" });
    into.append("line").attr("class", "zero").attr("x2", width).attr("y1", y(0)).attr("y2", y(0));
    for (const { key, role } of sides) {
      const layer = into.append("g").attr("class", `tone-${role}`) as unknown as Group;
      for (const one of lines.filter(({ configuration }) => configuration === key))
        layer
          .append("path")
          .attr("class", "curve")
          .attr("d", `M0,${y(at(one, 0))}L${x(end)},${y(at(one, end))}`);
      marks(
        layer,
        own.filter((point) => point.role === role),
        (point) => [x(squared(point.rate)), y(point.value)],
      );
    }
  });
  return {
    svg,
    table: {
      columns: ["channel", "configuration", "run", "cycle rate, Hz", "moment over travel, N"],
      rows: points.map((point) => rowOf(point, sides)),
    },
  };
}

function frame(count: number, sides: readonly BenchSide[], { width, label }: Look) {
  const panels = panelsIn(count, width, { left: 52, between: 62, top: 28, height: panelHeight, foot: 50 });
  const svg = blankDrawing(width, head + panels.height, label).classed("run-drawing", true);
  sidesLegend(group(svg, 14, 18, "legend"), sides);
  return {
    svg: svg.node()!,
    width: panels.width,
    panel: (k: number): Group => group(svg, panels.at(k).x, head + panels.at(k).y),
  };
}

function marks(
  layer: Group,
  points: readonly GrowthPoint[],
  at: (point: GrowthPoint) => readonly [number, number],
): void {
  for (const point of points) {
    const [x, y] = at(point);
    const mark = layer
      .append("path")
      .attr("class", `run-mark ${point.role}`)
      .attr("d", markOf[point.role])
      .attr("transform", `translate(${x.toFixed(2)},${y.toFixed(2)})`);
    if (point.run !== null) mark.attr("data-run", point.run).append("title").text(point.run);
  }
}

function rowOf({ channel, role, run, rate, value }: GrowthPoint, sides: readonly BenchSide[]) {
  const label = sides.find((side) => side.role === role)?.label ?? role;
  return [channelWords[channel], label, run ?? "mean over refits", Number(fixed(rate, 4)), Number(fixed(value, 4))];
}
