import type { Cell } from "../contract/cell.ts";
import { subjects } from "../foundation/signals.ts";
import { sizeRange } from "./text/sizeText.ts";

/** What chance alone does to a single pair of flights, in one sentence; none where the spread is too little known. */
export function pairLimits(family: readonly Cell[]): string[] {
  const bySubject = subjects.flatMap((subject) => {
    const limits = family.flatMap((cell) => (cell.subject === subject && cell.pair !== null ? [cell.pair.limit] : []));
    return limits.length === 0 ? [] : [{ subject, limits }];
  });
  if (bySubject.length === 0) return [];
  const told = bySubject.map(({ subject, limits }) => {
    const range = sizeRange(limits, { unit: family[0]!.unit });
    return `${range} (${subject}${range.includes(" to ") ? ", by trajectory and axis" : ""})`;
  });
  return [
    `Two flights of the same configuration and block differ by less than ${told.join(" or ")} in 95 of 100 pairs by chance alone: a single pair of flights, one of each configuration, can show nothing smaller.`,
  ];
}
