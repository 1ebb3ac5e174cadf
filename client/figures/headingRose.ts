import { shortName } from "../app/element.ts";
import { blankDrawing, group } from "./axes.ts";
import type { Drawing, Tone } from "./Figure.ts";

/** Runs that were flown alike: which way their noses point, radians from the world's x towards y. */
export interface RoseGroup {
  readonly name: string;
  readonly tone: Tone;
  /** `asked`: where the setpoint faces; null where it says nothing */
  readonly headings: readonly { readonly run: string; readonly heading: number; readonly asked: number | null }[];
}

const size = 190;
const radius = 48;
/** cosine of the angle from which a nose points elsewhere than its setpoint: 10 degrees */
const apart = Math.cos(Math.PI / 18);

/** A compass for each group, x to the right and y up as on the page's view from above: one needle a run. */
export function headingRose(
  groups: readonly RoseGroup[],
  options: { readonly width: number; readonly label: string },
): Drawing {
  const columns = Math.max(1, Math.min(groups.length, Math.floor(options.width / size)));
  const rows = Math.ceil(groups.length / columns);
  const svg = blankDrawing(options.width, rows * size, options.label);
  svg.classed("run-drawing rig", true);
  for (const [k, { name, tone, headings }] of groups.entries()) {
    const own = group(
      svg,
      (k % columns) * size + size / 2,
      Math.floor(k / columns) * size + size / 2 + 8,
      `tone-${tone}`,
    );
    own
      .append("text")
      .attr("class", "label")
      .attr("x", 0)
      .attr("y", -radius - 16)
      .attr("text-anchor", "middle")
      .text(shortName(name, 27));
    own.append("circle").attr("class", "rig-compass").attr("r", radius);
    own
      .append("text")
      .attr("class", "label quiet-text")
      .attr("x", radius + 5)
      .attr("y", 4)
      .text("x");
    own
      .append("text")
      .attr("class", "label quiet-text")
      .attr("x", 0)
      .attr("y", -radius - 3)
      .attr("text-anchor", "middle")
      .text("y");
    for (const { heading, asked } of headings) {
      if (asked !== null && Math.cos(heading - asked) < apart) {
        const [ax, ay] = [radius * Math.cos(asked), -radius * Math.sin(asked)];
        own
          .append("path")
          .attr("class", "rig-needle-asked")
          .attr("d", `M0,0L${ax.toFixed(1)},${ay.toFixed(1)}`);
      }
      const [x, y] = [radius * Math.cos(heading), -radius * Math.sin(heading)];
      own
        .append("path")
        .attr("class", "rig-needle")
        .attr("d", `M0,0L${x.toFixed(1)},${y.toFixed(1)}`);
      own.append("circle").attr("class", "rig-needle-end").attr("cx", x).attr("cy", y).attr("r", 3);
    }
  }
  return {
    svg: svg.node()!,
    table: {
      columns: ["group", "run", "heading, degrees", "commanded heading, degrees"],
      rows: groups.flatMap(({ name, headings }) =>
        headings.map(({ run, heading, asked }) => [
          name,
          run,
          degrees(heading),
          asked === null ? null : degrees(asked),
        ]),
      ),
    },
  };
}

function degrees(angle: number): number {
  return Number(((angle * 180) / Math.PI).toFixed(1));
}
