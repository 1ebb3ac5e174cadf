import type { RunEvaluation } from "../contract/evaluation.ts";
import { fixed } from "./text/numberText.ts";
import { plainText } from "./text/plainText.ts";
import { wrapText } from "./text/wrapText.ts";

/** By how much each clock was found off the reference clock over the used runs, from what, and how surely. */
export function clocksText(
  { runs }: { readonly runs: readonly Pick<RunEvaluation, "used" | "clocks">[] },
  width: number,
): string[] {
  const used = runs.filter((run) => run.used);
  const names = [...new Set(used.flatMap((run) => Object.keys(run.clocks)))];
  return names.flatMap((name) => {
    const found = used.map((run) => run.clocks[name]).filter((clock) => clock !== undefined);
    return wrapText(clockSentence(name, found), width, { first: "", rest: "  " });
  });
}

function clockSentence(name: string, found: readonly RunEvaluation["clocks"][string][]): string {
  const offsets = found.map(({ offset }) => offset);
  const least = offsetText(Math.min(...offsets));
  const most = offsetText(Math.max(...offsets));
  const errors = found.map(({ offset_se: error }) => error).filter((error) => error !== null);
  const surely = errors.length === 0 ? "" : `, standard error up to ${fixed(Math.max(...errors) * 1000, 2)} ms`;
  const sources = [...new Set(found.map(({ source }) => plainText(source)))].join("; ");
  return `Clock ${plainText(name)}: ${least === most ? least : `${least} to ${most}`} against the reference clock${surely} (${sources}).`;
}

/** Milliseconds up to ten seconds; clocks of other epochs in seconds. */
function offsetText(seconds: number): string {
  return Math.abs(seconds) < 10 ? `${fixed(seconds * 1000, 1)} ms` : `${seconds.toFixed(4)} s`;
}
