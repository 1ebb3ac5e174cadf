import { nearestNames } from "../../foundation/nearest.ts";
import type { MissingSignal, SignalRequest } from "../../foundation/recording.ts";
import { declaredUnit } from "../inSI.ts";
import type { Tabular } from "./Tabular.ts";

const unitWord =
  /^(h|hrs?|hours?|minutes?|s|sec|seconds?|ms|msec|milliseconds?|us|[µμ]s|usec|microseconds?|ns|nsec|nanoseconds?|min|m|mm|cm|um|[µμ]m|dm|km|in|inch(es)?|ft|foot|feet|met(er|re)s?|centimet(er|re)s?|millimet(er|re)s?|deg|degrees?|°|m?rad|[uµμ]rad|radians?|m\/s(\^?2|²)?|mm\/s|m?rad\/s(\^?2|²)?|deg\/s|°\/s|dps|radps|v|mv|a|ma|n|kn|nm|n·m|n[ .*-]?[mc]?m|lbf?|kgf|lbf?[ .*-]?(in|inch|ft)|(in|ft)[ .*-]?lbf?|counts?|cts|mah|hz|rpm|pwm|g|kg|%|-|1|none|unitless|frames?)$/i;
const inBrackets = /\s*[[(]([^\])]*)[\])]\s*$/;
/** brackets that say which of several columns it is: an element as "q[0]", a repeated name as "x (2)", an axis as "Position (X)" */
const telling = /(\S\[\d+\]|\s\(([2-9]|\d\d+)\)|[[(][xyzw][\])])\s*$/i;
const suffix = /_(mm|cm|ms|us|ns|sec|deg|rad|radps|dps)$/i;

/**
 * Names and units of columns from the lines of a heading. The words of a column are joined from top to bottom; an upper
 * cell that is blank belongs to the one on its left, as spanning headings are written. A line of
 * units is no part of the names.
 *
 * @param heading   its cells, line by line; may be shorter than the table is wide
 * @param columns   how many the table has
 * @param brackets  the first of them, which stand in brackets and are named "[1]", "[2]" ...
 * @returns every name once; a repeated one is followed by " (2)", " (3)" ...
 */
export function columnNames(
  heading: readonly (readonly string[])[],
  columns: number,
  brackets: number,
): { names: string[]; units: (string | null)[] } {
  const isUnits = (row: readonly string[]): boolean => {
    const filled = row.filter((cell) => cell !== "");
    // a heading knows more units than we do; what it writes for the rest is shown, and taken for none we know
    return filled.length > 1 && filled.filter((cell) => unitWord.test(bare(cell))).length >= (2 / 3) * filled.length;
  };
  // the only line of a heading names the columns, whatever it looks like
  const unitRow = heading.length < 2 ? undefined : heading.findLast(isUnits);
  const worded = heading.filter((row) => row !== unitRow);
  const lines = worded.map((row, k) => (k === worded.length - 1 ? row : spread(row, columns)));
  const taken = new Map<string, number>();
  const names: string[] = [];
  const units: (string | null)[] = [];
  for (let column = 0; column < columns; column++) {
    const words = lines.map((row) => row[column] ?? "").filter((word, k, all) => word !== "" && word !== all[k - 1]);
    const joined = column < brackets ? `[${column + 1}]` : words.join(" ");
    const name = joined === "" ? `#${column + 1}` : joined;
    const count = (taken.get(name) ?? 0) + 1;
    taken.set(name, count);
    names.push(count === 1 ? name : `${name} (${count})`);
    units.push(column < brackets ? null : unitOf(name, unitRow?.[column] ?? ""));
  }
  return { names, units };
}

function unitOf(name: string, cell: string): string | null {
  if (cell !== "") return bare(cell);
  const written = (telling.test(name) ? null : inBrackets.exec(name)?.[1]?.trim()) ?? suffix.exec(name)?.[1] ?? null;
  return written !== null && unitWord.test(written) ? written : null;
}

/** The name of a column without the unit that is written behind it. */
export function withoutUnit(name: string): string {
  return telling.test(name) ? name.trim() : name.replace(inBrackets, "").trim();
}

function bare(cell: string): string {
  return cell.replace(/^[[(]\s*|\s*[\])]$/g, "");
}

function spread(row: readonly string[], columns: number): string[] {
  let last = "";
  return Array.from({ length: columns }, (_, column) => {
    const cell = row[column] ?? "";
    if (cell !== "") last = cell;
    return last;
  });
}

/**
 * The number of a column by the name that a manifest gives: as the heading writes it, without the unit behind it, in
 * another case, or "#3" for the third.
 *
 * @returns null where there is none, or where two fit equally well
 */
export function columnNamed(wanted: string, names: readonly string[]): number | null {
  const ways: readonly ((name: string) => boolean)[] = [
    (name) => name === wanted,
    (name) => withoutUnit(name) === wanted,
    (name) => name.toLowerCase() === wanted.toLowerCase(),
    (name) => withoutUnit(name).toLowerCase() === withoutUnit(wanted).toLowerCase(),
  ];
  for (const way of ways) {
    const fitting = names.flatMap((name, column) => (way(name) ? [column] : []));
    if (fitting.length === 1) return fitting[0]!;
    if (fitting.length > 1) return null;
  }
  const number = /^#([1-9]\d{0,5})$/.exec(wanted);
  return number !== null && Number(number[1]) <= names.length ? Number(number[1]) - 1 : null;
}

/** What there is instead of a column, nearest names first. */
export function otherColumns(wanted: string, names: readonly string[]): { there: string; hint: string } {
  const near = nearestNames(wanted, names, 20);
  const rest = names.length - near.length;
  return {
    there: `${near.join(", ")}${rest > 0 ? `, and ${rest} more` : ""}`,
    hint: near[0] === undefined ? "look at the table's heading" : `did you mean ${near[0]}?`,
  };
}

/** role -> number of the column that serves it */
interface Roles {
  readonly roles: Readonly<Record<string, number>>;
}

/** Of each role as the heading writes it; lengths also from what stands before the heading. */
export function unitsOf({ roles }: Roles, table: Tabular): Record<string, string | null> {
  return Object.fromEntries(
    Object.entries(roles).map(([role, column]) => {
      const own = table.units[column] ?? null;
      return [role, own ?? (["x", "y", "z"].includes(role) ? table.lengthUnit : null)];
    }),
  );
}

/** Parts are joined before they are scaled: what the manifest declares no unit for must be written in one. */
export function otherUnits(
  request: SignalRequest,
  plans: readonly Roles[],
  tables: readonly Tabular[],
): MissingSignal | null {
  const written = plans.map((plan, k) => unitsOf(plan, tables[k]!));
  for (const role of Object.keys(plans[0]!.roles)) {
    if (declaredUnit(request, role) !== null) continue;
    const other = written.findIndex((units) => units[role] !== written[0]![role]);
    if (other < 0) continue;
    const name = (k: number): string => `${written[k]![role] ?? "no unit"} in ${tables[k]!.path}`;
    return {
      signal: request.signal,
      topic: request.topic,
      reason: "wrong-type",
      message: `${request.signal}: found ${role} in ${name(other)}, expected the same as ${name(0)}`,
      hint: "write all parts of one log in the same units, or declare units: for the signal",
    };
  }
  return null;
}
