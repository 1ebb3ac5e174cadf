import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { type Axis, axes, type Subject } from "../../../src/foundation/tracks.ts";
import { decimalsFor, fixed, millimetres } from "../../app/words.ts";
import type { Column } from "../../figures/bandPath.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";

/** The figures of one axis that both the server's window and the evaluation give; metres. */
interface AxisFigures {
  readonly bias: number;
  readonly sd: number;
  readonly rms: number;
  readonly mean_abs: number;
  readonly p95: number;
  readonly max_abs: number;
  readonly range: number | null;
  readonly rms_delay_removed?: number | null;
}

const rows = [...axes, "norm"] as const;
const keys = ["bias", "sd", "rms", "mean_abs", "p95", "max_abs", "range"] as const;
const headings = ["bias", "sd", "rms", "mean |e|", "p95 |e|", "max |e|", "range"];

/** Decimals of an error in millimetres: what the motion capture can tell; hundredths where that is not known. */
export function errorDecimals(campaign: CampaignView, subject: Subject): number {
  const noise = Object.values(campaign.noise?.[subject] ?? {}).filter((sd) => sd !== null && sd > 0) as number[];
  return noise.length === 0 ? 2 : decimalsFor(Math.min(...noise));
}

/** Error figures of a window: one row per axis and one for the length of the error vector, millimetres. */
export function errorFiguresTable(
  figures: Readonly<Record<Axis | "norm", AxisFigures>>,
  { name, caption, decimals }: { name: string; caption: string; decimals: number },
): HTMLElement {
  const delayRemoved = rows.some((row) => typeof figures[row].rms_delay_removed === "number");
  const text = (metres: number): string => millimetres(metres, decimals);
  return figuresTable({
    name,
    caption,
    columns: [
      "axis",
      ...headings.map((heading) => `${heading}, mm`),
      ...(delayRemoved ? ["rms, delay removed, mm"] : []),
    ],
    fileColumns: ["axis", ...keys.map((key) => `${key}, m`), ...(delayRemoved ? ["rms_delay_removed, m"] : [])],
    rows: rows.map((row): TableCell[] => [
      { text: row === "norm" ? "length" : row },
      ...keys.map((key) => numberCell(figures[row][key], text)),
      ...(delayRemoved ? [numberCell(figures[row].rms_delay_removed ?? null, text)] : []),
    ]),
  });
}

type Span = readonly [number, number];

/** Where in the flight an instant lies: "cycle 4 at 123°", "hold", or nothing. */
export function momentText(t: number, cycles: readonly Span[], hold: Span | null): string {
  const k = cycles.findIndex(([start, end]) => t >= start && t < end);
  if (k >= 0) {
    const [start, end] = cycles[k]!;
    return `cycle ${k + 1} at ${Math.floor((360 * (t - start)) / (end - start))}°`;
  }
  return hold !== null && t >= hold[0] && t < hold[1] ? "hold" : "";
}

/** A column's extremes on an axis in millimetres: one number where it is a sample. */
export function extremesText(column: Column, axis: Axis, decimals: number): string {
  const [low, high] = column.extremes[axis];
  const [a, b] = [fixed(1e3 * low, decimals), fixed(1e3 * high, decimals)];
  return a === b ? `${a} mm` : `${a} … ${b} mm`;
}
