import { nearestNames } from "../../foundation/nearest.ts";
import { withoutUnit } from "./columnNames.ts";

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
