import type { SynchronousEffect } from "../../src/contract/reasons.ts";
import { type Axis, axes } from "../../src/foundation/tracks.ts";
import { probabilityText } from "../app/words.ts";
import { blankDrawing } from "./axes.ts";
import { confidenceEllipse, ellipsePoints, fisherTwoQuantile, type MeanRegion } from "./confidenceEllipse.ts";
import type { Drawing } from "./Figure.ts";
import { panelsIn } from "./panels.ts";
import { drawEllipse, drawVector, polarFrame } from "./polarFrame.ts";
import { degreesText, tableMillimetres, uncertainMillimetres } from "./uncertainMillimetres.ts";

const radius = 124;

/** What is drawn of a difference. */
type Effect = Pick<SynchronousEffect, "axis" | "difference" | "hotelling">;

/**
 * Difference of the mean vectors with the 95 % region that its test has: all differences d with
 *
 *   (d - difference)' V^-1 (d - difference) <= (T^2/F) F(0.95; 2, df2)
 *
 * V the covariance by which T^2 is taken, so that it leaves zero out exactly where Hotelling's p is below 0.05.
 *
 * @returns metres, in the drawing's coordinates: a cos(k theta + phi) at length a and angle phi
 */
export function differenceRegion({
  difference: { cos, sin, cov },
  hotelling,
}: Effect): Pick<MeanRegion, "mean" | "ellipse"> {
  const mean = [cos, -sin] as const;
  if (cov === null || hotelling === null || !(hotelling.f > 0)) return { mean, ellipse: null };
  const squared = (hotelling.t2 / hotelling.f) * fisherTwoQuantile(0.95, hotelling.df2);
  return { mean, ellipse: confidenceEllipse([cov[0], -cov[1], cov[2]], squared) };
}

/** The differences of one harmonic about zero, a polar plot per axis with one millimetre scale. */
export function differenceFigure(
  effects: readonly Effect[],
  options: { width: number; label: string; ownScales: boolean; axisName: (axis: Axis) => string },
): Drawing {
  const height = 2 * radius + 118;
  const panels = panelsIn(3, options.width, { left: 14, between: 0, top: 0, height, foot: 0, beside: 900 });
  const svg = blankDrawing(options.width, panels.height, options.label);
  svg.classed("run-drawing tone-candidate", true);
  const regions = new Map(effects.map((effect) => [effect.axis, differenceRegion(effect)]));
  const reachOf = (axis: Axis): number => {
    const region = regions.get(axis);
    return region === undefined ? 0 : Math.max(...ellipsePoints(region).map((point) => Math.hypot(...point)));
  };
  const common = Math.max(...axes.map(reachOf));
  axes.forEach((axis, k) => {
    const { x, y } = { x: panels.at(k).x + panels.width / 2, y: panels.at(k).y + 46 + radius };
    const frame = polarFrame(svg, {
      x,
      y,
      radius,
      reach: options.ownScales ? reachOf(axis) : common,
      title: options.axisName(axis),
    });
    const effect = effects.find((one) => one.axis === axis);
    const region = regions.get(axis);
    if (effect === undefined || region === undefined) return;
    if (region.ellipse !== null) drawEllipse(frame, region.mean, region.ellipse, "ellipse region");
    drawVector(frame, region.mean, "vector", 10);
    frame.plot.append("path").attr("class", "mark").attr("d", "M-6,0H6M0,-6V6");
    [differenceText(effect), testText(effect)].forEach((text, row) => {
      const line = svg.append("text").attr("class", "value").attr("x", x).attr("text-anchor", "middle");
      line.attr("y", y + radius + 40 + 19 * row).text(text);
    });
  });
  return { svg: svg.node()!, table: tableOf(effects, regions) };
}

/** "7.5 ± 0.4 mm at 92°": the standard error is that along the difference. */
function differenceText({ difference: { cos, sin, amplitude, cov } }: Effect): string {
  const along =
    cov === null || amplitude === 0
      ? null
      : Math.sqrt(cov[0] * cos ** 2 + 2 * cov[1] * cos * sin + cov[2] * sin ** 2) / amplitude;
  return `${uncertainMillimetres(amplitude, along)} mm at ${degreesText(Math.atan2(-sin, cos))}`;
}

function testText({ hotelling }: Effect): string {
  if (hotelling === null) return "too few runs for a region";
  return `${hotelling.p < 0.05 ? "zero lies outside" : "zero lies inside"} (${probabilityText(hotelling.p)})`;
}

function tableOf(
  effects: readonly Effect[],
  regions: ReadonlyMap<Axis, Pick<MeanRegion, "mean" | "ellipse">>,
): Drawing["table"] {
  return {
    columns: [
      "axis",
      "difference, mm",
      "phase, degrees",
      "cos, mm",
      "sin, mm",
      "region's long half axis, mm",
      "region's short half axis, mm",
      "long axis's angle, degrees",
      "p",
    ],
    rows: effects.map(({ axis, difference: { cos, sin, amplitude }, hotelling }) => {
      const ellipse = regions.get(axis)?.ellipse ?? null;
      return [
        axis,
        tableMillimetres(amplitude),
        Number.parseInt(degreesText(Math.atan2(-sin, cos)), 10),
        tableMillimetres(cos),
        tableMillimetres(sin),
        ellipse === null ? null : tableMillimetres(ellipse.major),
        ellipse === null ? null : tableMillimetres(ellipse.minor),
        ellipse === null ? null : Number(((ellipse.angle * 180) / Math.PI).toFixed(1)),
        hotelling === null ? null : Number(hotelling.p.toPrecision(4)),
      ];
    }),
  };
}
