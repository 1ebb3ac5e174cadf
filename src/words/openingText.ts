import { joinWords } from "./lists.ts";

/** How often the verdicts of these flights were looked at, and what that means. */
export function looksText({ count, first }: { readonly count: number; readonly first: string | null }): string {
  if (count <= 1) return "Looked at once.";
  const since = first === null ? "" : `, first on ${first.slice(0, 10)}`;
  return `Looked at ${count} times${since}, each time with something changed that the verdicts rest on: runs, measure, set-up, or what is accepted. Choosing again, or flying on, until a verdict comes makes false alarms more frequent.`;
}

/**
 * Whether what the answer rests on was settled before it was seen.
 *
 * @example openingText({ at: "2026-05-04T08:00:00.000Z", exclusions: 2, changed: [] })
 *   // => "Set-up and 2 exclusions were fixed before the answer was seen, first on 2026-05-04."
 */
export function openingText(opened: {
  readonly at: string;
  readonly exclusions: number;
  readonly changed: readonly string[];
}): string {
  const day = opened.at.slice(0, 10);
  if (opened.changed.length > 0)
    return `Since the answer was first seen on ${day} these changed: ${joinWords(opened.changed)}.`;
  const { exclusions } = opened;
  const fixed =
    exclusions === 0
      ? "The set-up was fixed, and no run excluded by hand,"
      : `Set-up and ${exclusions} ${exclusions === 1 ? "exclusion" : "exclusions"} were fixed`;
  return `${fixed} before the answer was seen, first on ${day}.`;
}
