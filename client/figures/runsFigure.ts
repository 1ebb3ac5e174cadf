import { scaleLinear } from "d3";
import { measureOf } from "../../src/catalogue/measures.ts";
import type { CellAnswer } from "../../src/contract/api/cellAnswers.ts";
import type { CellSide } from "../../src/contract/cell.ts";
import { studentTQuantile } from "../../src/numeric/studentTQuantile.ts";
import { inShown, signWords, unitName } from "../../src/words/amounts.ts";
import { measureLabel } from "../../src/words/places.ts";
import { amount, countText } from "../app/words.ts";
import type { Drawing } from "./Figure.ts";
import { intervalMark } from "./intervalMark.ts";
import { bottomAxis, domainAround } from "./plainAxis.ts";
import { runLine } from "./runLine.ts";
import { runSign } from "./runSign.ts";
import { drawingRoot, svg } from "./svg.ts";

const width = 600;
const left = 122;
const right = 52;
const line = 19;
const title = 24;
const panel = 62;

interface RunsText {
  readonly baseline: string;
  readonly candidate: string;
  /** of the runs' numbers, in the unit read */
  readonly runDecimals: number;
  readonly title: string;
  readonly description: string;
}

/**
 * Every run of a cell on a line of its own, its cycles as small marks behind it, mean and 95 % interval of each
 * configuration; and under them the difference on the same scale, its 0 below the baseline's mean.
 */
export function runsFigure(answer: CellAnswer, text: RunsText): Drawing {
  const { cell, noise, runs } = answer;
  const cycles = cell.metric === "rms";
  const unit = unitName(cell.unit);
  const per = inShown(1, cell.unit);
  const tabled = (value: number | null): number | null =>
    value === null ? null : Number((value * per).toPrecision(6));
  const groups = (["baseline", "candidate"] as const).map((role) => ({
    role,
    label: text[role],
    side: cell[role],
    runs: runs.filter((run) => run.role === role).sort((a, b) => a.order - b.order),
  }));
  const origin = cell.baseline.mean;
  const smallest = cell.smallest_difference;
  const values = groups.flatMap((group) => [
    ...group.runs.flatMap((run) => [run.value, ...(cycles ? run.per_cycle : [])]),
  ]);
  if (origin !== null) {
    values.push(...(cell.ci95 ?? []).map((end) => origin + end));
    if (smallest !== null) values.push(origin - smallest, origin + smallest);
  }
  const domain = domainAround(values.filter((value) => value !== null));
  const x = scaleLinear(domain, [left, width - right]);
  // the mean of two runs is known so badly that its interval would press all else together: it is cut at the ends
  const shown = (metres: number): number => x(Math.min(domain[1], Math.max(domain[0], metres)));
  const parts: (SVGElement | null)[] = [];
  let y = 4;
  const top = y;
  const drawn: SVGElement[] = [];
  for (const { role, label, side, runs: own } of groups) {
    drawn.push(
      runSign(role, 8, y + 11, 4),
      svg("text", {
        class: "strong",
        x: 18,
        y: y + 15,
        text:
          side.mean === null
            ? `${label}: no run that counts`
            : `${label}: mean ${amount(side.mean, cell.unit, text.runDecimals)} ${unit}, ${countText(side.n, "run")}`,
      }),
    );
    y += title;
    const height = own.length * line;
    const interval = meanInterval(side);
    if (interval.length === 2)
      drawn.push(
        svg("rect", {
          class: "range",
          x: shown(interval[0]!),
          y,
          width: shown(interval[1]!) - shown(interval[0]!),
          height,
        }),
      );
    if (side.mean !== null)
      drawn.push(svg("line", { class: `mean ${role}`, x1: x(side.mean), x2: x(side.mean), y1: y, y2: y + height }));
    for (const run of own) {
      drawn.push(
        ...runLine(run, y + line / 2, x, {
          role,
          unit: cell.unit,
          decimals: text.runDecimals,
          cycles,
          nameEnd: left - 10,
          valueEnd: width,
        }),
      );
      y += line;
    }
    y += 6;
  }
  const axis = y + 2;
  parts.push(
    bottomAxis({
      scale: (value) => x(value / per),
      domain: [domain[0] * per, domain[1] * per],
      at: axis,
      grid: top + title,
      label: `${measureLabel(cell.metric)} of a run, ${unit}`,
    }),
  );
  if (noise !== null && noise >= domain[0] && (cell.metric === "rms" || cell.metric === "sd")) {
    parts.push(
      svg("line", { class: "noise", x1: x(noise), x2: x(noise), y1: top + title, y2: axis }),
      svg("text", { class: "noise-text", x: x(noise) + 4, y: axis - 4, text: "noise floor" }),
    );
  }
  parts.push(...drawn);
  let height = axis + 38;
  if (origin !== null && cell.difference !== null) {
    const from = height + 6;
    const foot = from + panel;
    parts.unshift(svg("line", { class: "mirrored", x1: x(origin), x2: x(origin), y1: axis, y2: from }));
    const differenceAt = (metres: number): number => x(origin + metres);
    if (smallest !== null) {
      parts.push(
        svg("rect", {
          class: "band",
          x: differenceAt(-smallest),
          y: from,
          width: differenceAt(smallest) - differenceAt(-smallest),
          height: panel,
        }),
      );
    }
    parts.push(
      svg("text", { class: "strong", x: 0, y: from + 20, text: "Difference" }),
      bottomAxis({
        scale: (value) => differenceAt(value / per),
        domain: [(domain[0] - origin) * per, (domain[1] - origin) * per],
        at: foot,
        grid: from,
        label: `candidate minus baseline, ${unit} (${signWords(measureOf(cell.metric).steadier)})`,
      }),
      svg("line", { class: "zero", x1: x(origin), x2: x(origin), y1: from, y2: foot }),
      ...intervalMark(
        from + panel / 2,
        differenceAt,
        { difference: cell.difference, ci95: cell.ci95, ci90: cell.ci90 },
        7,
      ),
    );
    height = foot + 38;
  }
  return {
    svg: drawingRoot({ width, height }, text, parts),
    table: {
      columns: [
        "run",
        "configuration",
        "block",
        "order flown",
        "used",
        `${cell.metric} (${unit})`,
        ...(cycles ? ["rms of each cycle (mm)"] : []),
      ],
      rows: groups.flatMap(({ label, runs: own }) =>
        own.map((run) => [
          run.id,
          label,
          run.block,
          run.order,
          run.used ? "yes" : `no: ${run.excluded_because ?? ""}`,
          tabled(run.value),
          ...(cycles ? [run.per_cycle.map((value) => tabled(value) ?? "").join("; ")] : []),
        ]),
      ),
    },
  };
}

/** The mean's 95 % interval from the spread between runs (t, n - 1); empty with fewer than two runs. */
function meanInterval({ n, mean, sd }: CellSide): number[] {
  if (n < 2 || mean === null || sd === null) return mean === null ? [] : [mean];
  const half = (studentTQuantile(0.975, n - 1) * sd) / Math.sqrt(n);
  return [mean - half, mean + half];
}
