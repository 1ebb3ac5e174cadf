import { scaleLinear } from "d3";
import type { MovingEffect } from "../../src/contract/reasons.ts";
import { fixed } from "../app/words.ts";
import { blankDrawing, group, padded, rowsIn } from "./axes.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis } from "./plainAxis.ts";

const top = 16;
/** of a sign of a name, pixels, on the broad side */
const signWidth = 7;

/** A configuration as its line is named and its runs are marked. */
export interface MovingName {
  readonly key: string;
  readonly label: string;
  readonly role: "baseline" | "candidate" | "sham" | "other";
}

/** What is drawn of an effect. */
export interface DrawnEffect extends Pick<MovingEffect, "trajectory" | "axis" | "unit"> {
  readonly configurations: Readonly<
    Record<string, Pick<MovingEffect["configurations"][string], "n" | "mean" | "ci95" | "expected" | "values">>
  >;
}

/**
 * Apparent moving mass, one line per axis and configuration: runs as marks, mean with its interval, what the ledger makes as a
 * diamond, and zero, where all is balanced.
 *
 * @param effects  of one unit
 */
export function movingFigure(
  effects: readonly DrawnEffect[],
  names: readonly MovingName[],
  options: { readonly width: number; readonly label: string },
): Drawing {
  const lines = effects.flatMap((effect) =>
    names.flatMap((name) => {
      const own = effect.configurations[name.key];
      return own === undefined ? [] : [{ effect, name, own, factor: effect.unit === "kg" ? 1000 : 100 }];
    }),
  );
  const unit = effects[0]?.unit === "1" ? "% of the whole" : "g";
  const all = lines.flatMap(({ own, factor }) =>
    [...own.values, ...(own.ci95 ?? []), ...(own.expected === null ? [] : [own.expected])].map(
      (value) => factor * value,
    ),
  );
  const domain = padded(Math.min(0, ...all), Math.max(0, ...all));
  const nameOf = ({ effect, name }: (typeof lines)[number]): string =>
    `${effect.trajectory} ${effect.axis}, ${name.label}`;
  const longest = Math.max(...lines.map((line) => nameOf(line).length));
  const rows = rowsIn(lines.length, options.width, { names: Math.max(250, 24 + signWidth * longest), step: 26 });
  const { height } = rows;
  const x = scaleLinear().domain(domain).range([0, rows.width]);
  const svg = blankDrawing(options.width, top + height + 50, options.label);
  svg.classed("run-drawing moving-drawing", true);
  const panel = group(svg, rows.left, top);
  panel.node()!.append(bottomAxis({ scale: x, domain, at: height, grid: 0, label: `apparent moving mass, ${unit}` }));
  panel.append("line").attr("class", "zero").attr("x1", x(0)).attr("x2", x(0)).attr("y2", height);
  lines.forEach((line, row) => {
    const { effect, name, own, factor } = line;
    const y = rows.middle(row);
    rows.name(panel, row, nameOf(line));
    for (const value of own.values)
      panel
        .append("circle")
        .attr("class", `run ${name.role}`)
        .attr("cx", x(factor * value))
        .attr("cy", y)
        .attr("r", 3.5);
    if (own.ci95 !== null) {
      const [a, b] = own.ci95.map((value) => x(factor * value));
      panel
        .append("path")
        .attr("class", "interval")
        .attr("d", `M${a},${y - 5}v10M${a},${y}H${b}M${b},${y - 5}v10`);
    }
    const at = x(factor * own.mean);
    panel
      .append("rect")
      .attr("class", "estimate")
      .attr("x", at - 4)
      .attr("y", y - 4)
      .attr("width", 8)
      .attr("height", 8);
    if (own.expected !== null && effect.unit === "kg") {
      const place = x(factor * own.expected);
      panel
        .append("path")
        .attr("class", "observed")
        .attr("d", `M${place},${y - 8}l5,8l-5,8l-5,-8z`);
    }
  });
  const round = (value: number): number => Number(fixed(value, 2));
  return {
    svg: svg.node()!,
    table: {
      columns: ["trajectory", "axis", "configuration", "runs", `mean, ${unit}`, "from", "to", "expected"],
      rows: lines.map(({ effect, name, own, factor }) => [
        effect.trajectory,
        effect.axis,
        name.label,
        own.n,
        round(factor * own.mean),
        own.ci95 === null ? null : round(factor * own.ci95[0]),
        own.ci95 === null ? null : round(factor * own.ci95[1]),
        own.expected === null ? null : round(factor * own.expected),
      ]),
    },
  };
}
