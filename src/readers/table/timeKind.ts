import { framePeriod } from "../../contract/manifest/instant.ts";
import type { SignalRequest } from "../../foundation/recording.ts";
import { median } from "../../numeric/descriptive.ts";
import { factorIn } from "../inSI.ts";
import type { ColumnKind } from "./ColumnSink.ts";
import { isBlank } from "./decimal.ts";

/** How the time of a table is to be read. */
export interface TimeKind {
  readonly kind: ColumnKind;
  /** seconds per unit, where the column is read as numbers; else 1 */
  readonly scale: number;
  /** what was decided without being told, in words */
  readonly note: string | null;
}

const dated =
  /^(\d{4}[-/.]\d\d?[-/.]\d\d?|([+-]?\d+ days? \+?)?\d\d?:\d\d:\d\d|\d\d?-[A-Za-z]{3}-\d{4}|\d\d?\.\d\d?\.\d{4})/;
/** Instants of this century as counted from 1970: from 2001-09-09 to 2096-10-02 (1e9 to 4e9 s). */
const dates: readonly { readonly power: number; readonly name: string }[] = [
  { power: 0, name: "s" },
  { power: 3, name: "ms" },
  { power: 6, name: "us" },
  { power: 9, name: "ns" },
];

/** Seconds between rows beyond which a table is no log of a flight. */
const slowestRow = 60;

/**
 * The unit of a table's time: as declared (for numbers of frames, their rate), else as the heading writes it, else dates for what reads as dates, else from
 * the magnitude where the numbers can only be dates of this century; else seconds, which is said.
 *
 * @param cells  some cells of the column
 * @param head   the heading's unit, and the column's name for the note
 */
export function timeKind(
  { units }: Pick<SignalRequest, "units">,
  cells: readonly string[],
  head: { unit: string | null; name: string },
): TimeKind {
  const filled = cells.filter((cell) => !isBlank(cell));
  if (filled.length > 0 && filled.every((cell) => dated.test(cell)))
    return { kind: { kind: "date" }, scale: 1, note: null };
  const declared = units?.t ?? null;
  if (declared !== null && /^iso$/i.test(declared)) return { kind: { kind: "date" }, scale: 1, note: null };
  const period = declared === null ? null : framePeriod(declared);
  if (period !== null) return { kind: { kind: "number" }, scale: period, note: null };
  const unit = declared ?? head.unit;
  // a heading in capitals writes MS, which is megasiemens to a table of units
  const factor = unit === null ? null : (factorIn(unit, "s") ?? factorIn(unit.toLowerCase(), "s"));
  if (factor !== null) {
    const power = Math.round(-Math.log10(factor));
    if (power >= 0 && power <= 9 && Math.abs(factor * 10 ** power - 1) < 1e-9)
      return { kind: { kind: "instant", power }, scale: 1, note: null };
    return { kind: { kind: "number" }, scale: factor, note: null };
  }
  const numbers = filled.map((cell) => Number(cell.replace(",", "."))).filter(Number.isFinite);
  const first = numbers[0] ?? Number.NaN;
  const step = medianStep(numbers);
  // a time since the autopilot's start in us or ns may look like a date in s or ms, but then its rows lie far apart
  const century = dates.find(
    ({ power }) => first >= 1e9 * 10 ** power && first < 4e9 * 10 ** power && !(step > slowestRow * 10 ** power),
  );
  if (century !== undefined) return { kind: { kind: "instant", power: century.power }, scale: 1, note: null };
  return {
    kind: { kind: "instant", power: 0 },
    scale: 1,
    note: `nothing says the unit of the time ${head.name}: taken for s`,
  };
}

/** NaN for fewer than two numbers. */
function medianStep(numbers: readonly number[]): number {
  const steps = numbers.slice(1).map((value, k) => Math.abs(value - numbers[k]!));
  return steps.length === 0 ? Number.NaN : median(Float64Array.from(steps));
}

/** Numbers as tables write them, with a decimal point and with a decimal comma. */
export const withPoint = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/;
export const withComma = /^[+-]?(\d+,\d*|,\d+)([eE][+-]?\d+)?$/;
/** may as well be a whole number with its thousands parted */
export const parted = /^[+-]?[1-9]\d{0,2},\d{3}$/;
export const emptyCell = /^([+-]?(nan|inf|infinity)|null|none|n\/?a|nil|-+|\?+|#n\/a)?$/i;
const dateCell = /^(\d{4}[-/.]\d\d?[-/.]\d\d?([Tt ].*)?|\d\d?:\d\d:\d\d([.,]\d+)?)$/;

export const comment = /^\s*(#+|%+|\/\/)/;

/** Whether a line may be a row or a heading: no comment, not empty. */
export const isFilled = (line: string): boolean => line.trim() !== "" && !comment.test(line);

/** Whether a cell is a number, a date or a time of day. */
export function isNumber(cell: string): boolean {
  return withPoint.test(cell) || withComma.test(cell) || dateCell.test(cell);
}
