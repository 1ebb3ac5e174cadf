import type { RunRow } from "../../../src/contract/api/runAnswers.ts";
import type { Cell } from "../../../src/contract/cell.ts";
import { joinWords } from "../../../src/words/lists.ts";
import { placeName } from "../../app/names.ts";
import { countText } from "../../app/words.ts";

/**
 * What a person's exclusions do to the verdicts; "" where nobody excluded a run that could be put back.
 *
 * @param family  cells with a verdict
 */
export function withExclusions(family: readonly Cell[], runs: readonly RunRow[]): string {
  const excluded = runs.filter(
    ({ decision, checks }) =>
      decision !== null && !decision.include && !checks.some(({ severity }) => severity === "unusable"),
  );
  if (excluded.length === 0) return "";
  const named = joinWords(excluded.map(({ id }) => id));
  const back = `With ${named} put back, which ${excluded.length === 1 ? "a person excluded" : "were excluded by a person"},`;
  const changed = family.filter(({ verdict, verdict_all_runs: all }) => all !== null && all !== verdict);
  if (changed.length === 0) return `${back} every verdict stays what it is.`;
  const each = changed.map(
    (cell) => `${placeName(cell)} would be “${cell.verdict_all_runs}” instead of “${cell.verdict}”`,
  );
  return `${back} ${countText(changed.length, "verdict")} would be another: ${each.join("; ")}.`;
}
