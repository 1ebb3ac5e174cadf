import { scaleLinear } from "d3";
import { measureOf } from "../../src/catalogue/measures.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { CellSide } from "../../src/contract/cell.ts";
import { studentTQuantile } from "../../src/numeric/studentT.ts";
import { inShown, signWords, unitName } from "../../src/words/amounts.ts";
import { measureLabel } from "../../src/words/places.ts";
import { shortName } from "../app/element.ts";
import { amount, countText } from "../app/words.ts";
import type { Drawing } from "./Figure.ts";
import { bottomAxis, domainAround } from "./plainAxis.ts";
import { runLine, runSign } from "./runLine.ts";
import { drawingRoot, intervalMark, svg } from "./svg.ts";

const left = 122;
const right = 52;
const line = 19;
const title = 24;
const panel = 62;

interface RunsText {
  /** pixels */
  readonly width: number;
  readonly baseline: string;
  readonly candidate: string;
  /** of the runs' numbers, in the unit read */
  readonly runDecimals: number;
  readonly title: string;
  readonly description: string;
}

interface Group {
  readonly role: "baseline" | "candidate";
  readonly label: string;
  readonly side: CellSide;
  readonly runs: CellAnswer["runs"];
}

/** What all parts of the figure share. */
interface Frame {
  readonly width: number;
  readonly cell: CellAnswer["cell"];
  readonly decimals: number;
  /** whether the runs' values are means over cycles that are shown as well */
  readonly cycles: boolean;
  readonly domain: readonly [number, number];
  readonly x: (value: number) => number;
  /** numbers of the unit read, for one of the cell's */
  readonly per: number;
}

/**
 * Every run of a cell on a line of its own, its cycles as small marks behind it, mean and 95 % interval of each
 * configuration; and under them the difference on the same scale, its 0 below the baseline's mean.
 */
export function runsFigure(answer: CellAnswer, text: RunsText): Drawing {
  const { cell, noise, runs } = answer;
  const { width } = text;
  const cycles = cell.metric === "rms";
  const unit = unitName(cell.unit);
  const per = inShown(1, cell.unit);
  const groups = (["baseline", "candidate"] as const).map((role) => ({
    role,
    label: text[role],
    side: cell[role],
    runs: runs.filter((run) => run.role === role).sort((a, b) => a.order - b.order),
  }));
  const domain = domainOf(cell, groups, cycles);
  const x = scaleLinear(domain, [left, width - right]);
  const frame: Frame = { width, cell, decimals: text.runDecimals, cycles, domain, x, per };
  const top = 4;
  let y = top;
  const drawn: SVGElement[] = [];
  for (const group of groups) {
    drawn.push(...groupLines(group, y, frame));
    y += title + group.runs.length * line + 6;
  }
  const axis = y + 2;
  const parts: (SVGElement | null)[] = [
    bottomAxis({
      scale: (value) => x(value / per),
      domain: [domain[0] * per, domain[1] * per],
      at: axis,
      grid: top + title,
      label: `${measureLabel(cell.metric)} of a run, ${unit}`,
    }),
  ];
  if (noise !== null && noise >= domain[0] && (cell.metric === "rms" || cell.metric === "sd")) {
    parts.push(
      svg("line", { class: "noise", x1: x(noise), x2: x(noise), y1: top + title, y2: axis }),
      svg("text", { class: "noise-text", x: x(noise) + 4, y: axis - 4, text: "noise floor" }),
    );
  }
  parts.push(...drawn);
  const under = differencePanel(axis, frame);
  // the line that leads down from the baseline's mean lies behind all else
  parts.unshift(...under.slice(0, 1));
  parts.push(...under.slice(1));
  const height = axis + 38 + (under.length > 0 ? 6 + panel + 38 : 0);
  return {
    svg: drawingRoot({ width, height }, { ...text, links: true }, parts),
    table: runsTable(groups, frame),
  };
}

/** Takes in all values, and the intervals and the smallest difference that matters about the baseline's mean. */
function domainOf(cell: CellAnswer["cell"], groups: readonly Group[], cycles: boolean): [number, number] {
  const origin = cell.baseline.mean;
  const smallest = cell.smallest_difference;
  const values = groups.flatMap((group) => [
    ...group.runs.flatMap((run) => [run.value, ...(cycles ? run.per_cycle : [])]),
  ]);
  if (origin !== null) {
    values.push(...(cell.ci95 ?? []).map((end) => origin + end));
    if (smallest !== null) values.push(origin - smallest, origin + smallest);
  }
  return domainAround(values.filter((value) => value !== null));
}

/** A configuration's name with its mean, its interval, and a line for each run, from `top` down. */
function groupLines({ role, label, side, runs }: Group, top: number, frame: Frame): SVGElement[] {
  const { width, cell, decimals, cycles, domain, x } = frame;
  // the mean of two runs is known so badly that its interval would press all else together: it is cut at the ends
  const shown = (metres: number): number => x(Math.min(domain[1], Math.max(domain[0], metres)));
  const mean = side.mean;
  const name = shortName(label, Math.max(12, Math.floor((width - 18) / 7.2) - 22));
  const words =
    mean === null
      ? `${name}: no run that counts`
      : `${name}: mean ${amount(mean, cell.unit, decimals)} ${unitName(cell.unit)}, ${countText(side.n, "run")}`;
  const y = top + title;
  const height = runs.length * line;
  const parts = [runSign(role, 8, top + 11, 4), svg("text", { class: "strong", x: 18, y: top + 15, text: words })];
  const [from, to] = meanInterval(side).map(shown);
  if (from !== undefined && to !== undefined)
    parts.push(svg("rect", { class: "range", x: from, y, width: to - from, height }));
  if (mean !== null)
    parts.push(svg("line", { class: `mean ${role}`, x1: x(mean), x2: x(mean), y1: y, y2: y + height }));
  const options = {
    subject: cell.subject,
    role,
    unit: cell.unit,
    decimals,
    cycles,
    nameEnd: left - 10,
    valueEnd: width,
  };
  parts.push(...runs.map((run, k) => runLine(run, y + (k + 0.5) * line, x, options)));
  return parts;
}

/** The difference below the axis, on its scale: first what leads down to it; nothing where there is none. */
function differencePanel(axis: number, { width, cell, domain, x, per }: Frame): SVGElement[] {
  const origin = cell.baseline.mean;
  const smallest = cell.smallest_difference;
  if (origin === null || cell.difference === null) return [];
  const from = axis + 38 + 6;
  const foot = from + panel;
  const at = (metres: number): number => x(origin + metres);
  const parts: SVGElement[] = [svg("line", { class: "mirrored", x1: x(origin), x2: x(origin), y1: axis, y2: from })];
  if (smallest !== null) {
    const band = { x: at(-smallest), y: from, width: at(smallest) - at(-smallest), height: panel };
    parts.push(svg("rect", { class: "band", ...band }));
  }
  parts.push(
    svg("text", { class: "strong", x: 0, y: from + 20, text: "Difference" }),
    bottomAxis({
      scale: (value) => at(value / per),
      domain: [(domain[0] - origin) * per, (domain[1] - origin) * per],
      at: foot,
      grid: from,
      label:
        width < 520
          ? signWords(measureOf(cell.metric).steadier)
          : `candidate minus baseline, ${unitName(cell.unit)} (${signWords(measureOf(cell.metric).steadier)})`,
    }),
    svg("line", { class: "zero", x1: x(origin), x2: x(origin), y1: from, y2: foot }),
    ...intervalMark(from + panel / 2, at, { difference: cell.difference, ci95: cell.ci95, ci90: cell.ci90 }, 7),
  );
  return parts;
}

function runsTable(groups: readonly Group[], { cell, cycles, per }: Frame): Drawing["table"] {
  const tabled = (value: number | null): number | null =>
    value === null ? null : Number((value * per).toPrecision(6));
  return {
    columns: [
      "run",
      "configuration",
      "block",
      "order flown",
      "used",
      `${cell.metric} (${unitName(cell.unit)})`,
      ...(cycles ? ["rms of each cycle (mm)"] : []),
    ],
    rows: groups.flatMap(({ label, runs }) =>
      runs.map((run) => [
        run.id,
        label,
        run.block,
        run.order,
        run.used ? "yes" : `no: ${run.excluded_because ?? ""}`,
        tabled(run.value),
        ...(cycles ? [run.per_cycle.map((value) => tabled(value) ?? "").join("; ")] : []),
      ]),
    ),
  };
}

/** The mean's 95 % interval from the spread between runs (t, n - 1); empty with fewer than two runs. */
function meanInterval({ n, mean, sd }: CellSide): number[] {
  if (n < 2 || mean === null || sd === null) return mean === null ? [] : [mean];
  const half = (studentTQuantile(0.975, n - 1) * sd) / Math.sqrt(n);
  return [mean - half, mean + half];
}
