import { scaleLinear } from "d3";
import type { BenchRunEvaluation } from "../../src/contract/benchEvaluation.ts";
import { channelWords } from "../../src/words/benchWords.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, bottomAxis, type Group, group, leftAxis, padded } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import { brokenLine } from "./phaseFigure.ts";

export type BenchChannelName = keyof typeof channelWords;
/** A configuration on the bench, as its curves are named and coloured. */
export interface BenchSide {
  readonly key: string;
  readonly label: string;
  readonly role: "baseline" | "candidate";
}

const steps = 72;
const panelHeight = 200;
const degrees = Array.from({ length: steps + 1 }, (_, k) => (360 * k) / steps);

/** What the harmonics of a channel make over one cycle of the arm, N or N m. */
function overPhase({ channels }: BenchRunEvaluation, channel: BenchChannelName): number[] {
  return degrees.map((degree) =>
    channels![channel].harmonics.reduce((sum, { k, cos, sin }) => {
      const angle = (k * degree * Math.PI) / 180;
      return sum + cos * Math.cos(angle) + sin * Math.sin(angle);
    }, 0),
  );
}

/** The names and signs of both configurations above a drawing. */
export function sidesLegend(parent: Group, sides: readonly BenchSide[]): void {
  let at = 0;
  for (const { label, role } of sides) {
    const own = parent.append("g").attr("class", `tone-${role}`).attr("transform", `translate(${at},0)`);
    own.append("path").attr("class", `run-mark ${role}`).attr("d", markOf[role]).attr("transform", "translate(0,-4)");
    own.append("text").attr("class", "value").attr("x", 12).text(label);
    at += 44 + 7.4 * label.length;
  }
}

/** Signs of runs: open round for the baseline, full diamond for the candidate. */
export const markOf = {
  baseline: "M-4.5,0a4.5,4.5 0 1,0 9,0a4.5,4.5 0 1,0 -9,0Z",
  candidate: "M0,-5.5L5.5,0L0,5.5L-5.5,0Z",
} as const;

/**
 * Force and moment over the arm's cycle, a panel per channel with its own scale: every run thin, the mean of each configuration
 * thick; the baseline's mean is broken, so that colour does not carry it alone.
 *
 * @param runs  of one trajectory and speed, with channels
 */
export function benchPhaseFigure(
  runs: readonly BenchRunEvaluation[],
  channels: readonly BenchChannelName[],
  sides: readonly BenchSide[],
  options: { readonly width: number; readonly label: string },
): Drawing {
  const head = 34;
  const panels = panelsIn(channels.length, options.width, {
    left: 52,
    between: 62,
    top: 28,
    height: panelHeight,
    foot: 50,
  });
  const svg = blankDrawing(options.width, head + panels.height, options.label).classed("run-drawing", true);
  sidesLegend(group(svg, 14, 18, "legend"), sides);
  const x = scaleLinear().domain([0, 360]).range([0, panels.width]);
  const curves = channels.map((channel) =>
    sides.map(({ key, role }) => {
      const own = runs.filter(({ configuration }) => configuration === key);
      const each = own.map((run) => ({ run: run.id, values: overPhase(run, channel) }));
      const mean = degrees.map((_, k) => each.reduce((sum, { values }) => sum + values[k]!, 0) / each.length);
      return { role, each, mean };
    }),
  );
  channels.forEach((channel, k) => {
    const all = curves[k]!.flatMap(({ each }) => each.flatMap(({ values }) => values));
    const y = scaleLinear()
      .domain(padded(Math.min(...all), Math.max(...all)))
      .range([panelHeight, 0]);
    const panel = group(svg, panels.at(k).x, head + panels.at(k).y);
    leftAxis(panel, y, { lines: panels.width, label: `${channelWords[channel]}, ${unitOf(channel)}` });
    bottomAxis(group(panel, 0, panelHeight), x, { values: [0, 90, 180, 270, 360], label: "arm's cycle, degrees" });
    panel.append("line").attr("class", "zero").attr("x2", panels.width).attr("y1", y(0)).attr("y2", y(0));
    const lineOf = (values: readonly number[]): string =>
      brokenLine(values.map((value, at) => [x(degrees[at]!), y(value)] as const));
    for (const { role, each, mean } of curves[k]!) {
      const layer = panel.append("g").attr("class", `tone-${role}`);
      for (const { run, values } of each)
        layer
          .append("path")
          .attr("class", "curve thin")
          .attr("data-run", run)
          .attr("d", lineOf(values))
          .append("title")
          .text(run);
      if (each.length > 0) layer.append("path").attr("class", `curve bench-mean ${role}`).attr("d", lineOf(mean));
    }
  });
  const named = channels.flatMap((channel) =>
    sides.map(({ label }) => `${channelWords[channel]}, ${label}, ${unitOf(channel)}`),
  );
  return {
    svg: svg.node()!,
    table: {
      columns: ["arm's cycle, degrees", ...named],
      rows: degrees.map((degree, at) => [
        degree,
        ...curves.flatMap((own) =>
          own.map(({ each, mean }) => (each.length === 0 ? null : Number(fixed(mean[at]!, 4)))),
        ),
      ]),
    },
  };
}

/** @example unitOf("mx") // => "N m" */
export const unitOf = (channel: BenchChannelName): "N" | "N m" => (channel.startsWith("f") ? "N" : "N m");
