import type { CampaignView } from "../../../src/contract/api/campaignAnswer.ts";
import { type Axis, axes, type Subject } from "../../../src/foundation/signals.ts";
import { decimalsFor, millimetres } from "../../app/words.ts";
import { figuresTable, numberCell, type TableCell } from "./figuresTable.ts";

/** The figures of one axis that both the server's window and the evaluation give; metres. */
export interface AxisFigures {
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
