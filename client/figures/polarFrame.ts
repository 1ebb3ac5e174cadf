import { scaleLinear } from "d3";
import { type Group, group, type Svg, tickTexts } from "./axes.ts";
import type { Ellipse } from "./confidenceEllipse.ts";

export interface PolarFrame {
  readonly plot: Group;
  /** pixels of a vector, metres in, about the centre; up is up */
  readonly at: (vector: readonly [number, number]) => [number, number];
  readonly perMetre: number;
}

/**
 * Rings in millimetres and spokes every 30 degrees, 0 to the right and anticlockwise, as a phase is read.
 *
 * @param options.radius  pixels of the outermost ring
 * @param options.reach   metres that must fit
 */
export function polarFrame(
  parent: Svg | Group,
  options: { x: number; y: number; radius: number; reach: number; title: string },
): PolarFrame {
  const { radius } = options;
  const scale = scaleLinear()
    .domain([0, Math.max(options.reach, 1e-6) * 1e3])
    .nice(3);
  const outer = scale.domain()[1]! / 1e3;
  const perMetre = radius / outer;
  const plot = group(parent, options.x, options.y, "polar");
  const rings = scale.ticks(3).filter((ring) => ring > 0);
  const texts = tickTexts(rings);
  for (let spoke = 0; spoke < 12; spoke++) {
    const angle = (spoke * Math.PI) / 6;
    const [dx, dy] = [Math.cos(angle), -Math.sin(angle)];
    plot
      .append("line")
      .attr("class", spoke % 3 === 0 ? "spoke main" : "spoke")
      .attr("x2", radius * dx)
      .attr("y2", radius * dy);
    if (spoke % 3 === 0) {
      plot
        .append("text")
        .attr("class", "number")
        .attr("x", (radius + 8) * dx)
        .attr("y", (radius + 11) * dy)
        .attr("dy", "0.34em")
        .attr("text-anchor", spoke === 0 ? "start" : spoke === 6 ? "end" : "middle")
        .text(`${spoke * 30}°`);
    }
  }
  for (const ring of rings) {
    plot
      .append("circle")
      .attr("class", "ring")
      .attr("r", (ring / 1e3) * perMetre);
  }
  rings.forEach((ring, k) => {
    const r = (ring / 1e3) * perMetre;
    // the outermost, which holds the unit, takes the room of the one within it
    if (k === rings.length - 2 && radius - r < 40) return;
    plot
      .append("text")
      .attr("class", "number halo")
      .attr("x", r * Math.cos(-Math.PI / 12) + 2)
      .attr("y", r * Math.sin(Math.PI / 12) + 4)
      .attr("text-anchor", "end")
      .text(`${texts[k]}${k === rings.length - 1 ? " mm" : ""}`);
  });
  plot
    .append("text")
    .attr("class", "panel-title")
    .attr("x", -radius)
    .attr("y", -radius - 12)
    .text(options.title);
  return { plot, perMetre, at: ([u, v]) => [u * perMetre, -v * perMetre] };
}

/** An ellipse about a vector's head; angles turn the other way on a screen, whose y grows downwards. */
export function drawEllipse(
  frame: PolarFrame,
  centre: readonly [number, number],
  ellipse: Ellipse,
  name: string,
): void {
  const [x, y] = frame.at(centre);
  frame.plot
    .append("ellipse")
    .attr("class", name)
    .attr("rx", ellipse.major * frame.perMetre)
    .attr("ry", ellipse.minor * frame.perMetre)
    .attr("transform", `translate(${x},${y}) rotate(${(-ellipse.angle * 180) / Math.PI})`);
}

/** A vector from the centre to its head, with an arrow head that shrinks with a short shaft. */
export function drawVector(frame: PolarFrame, vector: readonly [number, number], name: string, head = 9): void {
  const [x, y] = frame.at(vector);
  const length = Math.hypot(x, y);
  const size = Math.min(head, length);
  const angle = Math.atan2(y, x);
  const barb = (turn: number): string => `${x - size * Math.cos(angle + turn)},${y - size * Math.sin(angle + turn)}`;
  frame.plot.append("line").attr("class", `${name} shaft`).attr("x2", x).attr("y2", y);
  frame.plot
    .append("path")
    .attr("class", `${name} barbs`)
    .attr("d", `M${barb(0.42)}L${x},${y}L${barb(-0.42)}`);
}
