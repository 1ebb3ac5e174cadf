import type { Cell } from "../contract/cell.ts";
import { type Subject, subjects } from "../foundation/signals.ts";
import { joinWords } from "../words/lists.ts";
import { sizeText } from "./text/sizeText.ts";

const notDeclared = "not declared";

/**
 * The smallest difference that matters, distinguished by subject only where it differs: "1.5 mm", "2 mm (vehicle) and 1 mm
 * (effector)", "2 mm (vehicle); not declared (effector)".
 *
 * @param cells  at least one
 */
export function smallestText(cells: readonly Cell[]): string {
  const bySubject = subjectsOf(cells).map((subject) => {
    const { smallest_difference: smallest, unit } = cells.find((cell) => cell.subject === subject)!;
    return { subject, text: smallest === null ? notDeclared : sizeText(smallest, unit) };
  });
  if (new Set(bySubject.map(({ text }) => text)).size === 1) return bySubject[0]!.text;
  const stated = bySubject.map(({ subject, text }) => `${text} (${subject})`);
  return bySubject.some(({ text }) => text === notDeclared) ? stated.join("; ") : joinWords(stated);
}

/** The subjects of some cells, in the order of the list of subjects. */
export function subjectsOf(cells: readonly Cell[]): Subject[] {
  return subjects.filter((subject) => cells.some((cell) => cell.subject === subject));
}
