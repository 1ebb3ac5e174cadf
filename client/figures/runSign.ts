import { svg } from "./svg.ts";

export type Role = "baseline" | "candidate" | "sham" | "other";

/** The sign of a run: open circle, filled diamond, open square, open triangle; a run that does not count is struck through. `run`: its name, by which it lights up with its like. */
export function runSign(
  role: Role,
  x: number,
  y: number,
  size: number,
  options: { title?: string; unused?: boolean; run?: string } = {},
): SVGElement {
  const { title, unused = false, run = null } = options;
  const mark = svg("path", {
    class: `run ${role}${unused ? " unused" : ""}`,
    d: `${outline(role, size)}${unused ? slash(size * 1.9) : ""}`,
    "data-run": run,
    transform: `translate(${round(x)},${round(y)})`,
  });
  if (title !== undefined) mark.append(svg("title", { text: title }));
  return mark;
}

function outline(role: Role, r: number): string {
  if (role === "baseline") return `M${-r},0a${r},${r} 0 1,0 ${2 * r},0a${r},${r} 0 1,0 ${-2 * r},0Z`;
  const d = round(1.25 * r);
  if (role === "candidate") return `M0,${-d}L${d},0L0,${d}L${-d},0Z`;
  return role === "sham" ? `M${-r},${-r}H${r}V${r}H${-r}Z` : `M0,${-d}L${d},${r}H${-d}Z`;
}

function slash(d: number): string {
  return `M${-d},${d}L${d},${-d}`;
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}
