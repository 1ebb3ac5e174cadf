import type { CellConstant, ConstantRole } from "../contract/cell.ts";
import type { RunCheck, RunEvaluation } from "../contract/evaluation.ts";
import { joinWords } from "./amounts.ts";

/** One finding of several runs, once. */
export interface GroupedFinding extends Pick<RunCheck, "code" | "severity" | "hint"> {
  /** figures that differ from run to run stand as their least and largest: "the vehicle stands 1.75 to 1.83 m from ..." */
  readonly message: string;
  /** ids, in the order given */
  readonly runs: readonly string[];
  /** as they stand in the runs */
  readonly checks: readonly RunCheck[];
}

/** From this many runs on a finding is said once, with its runs. */
export const severalRuns = 3;

/** Whether a finding asks for a person's look: it is no note, and nobody has taken it as it is. */
export function isOpen({ severity, accepted_because }: Pick<RunCheck, "severity" | "accepted_because">): boolean {
  return severity !== "note" && accepted_because === null;
}

/** A number by itself: not a part of a name such as flight-03 or /imu/1. */
const figure = /(?<![\w./-])-?\d+(?:\.\d+)?(?![\w/-])/g;

/**
 * The same finding of several runs as one: the same code, severity and words, whatever the figures in them.
 *
 * @param keep  which of a run's checks are meant
 * @returns in the order in which they are first met
 */
export function groupedFindings(
  runs: readonly Pick<RunEvaluation, "id" | "checks">[],
  keep: (check: RunCheck) => boolean,
): GroupedFinding[] {
  const groups = new Map<string, { checks: RunCheck[]; runs: string[] }>();
  for (const { id, checks } of runs)
    for (const check of checks.filter(keep)) {
      const key = JSON.stringify([check.code, check.severity, check.message.replace(figure, "#")]);
      const group = groups.get(key) ?? { checks: [], runs: [] };
      if (!group.runs.includes(id)) group.runs.push(id);
      group.checks.push(check);
      groups.set(key, group);
    }
  return [...groups.values()].map((group) => {
    const { code, severity, hint } = group.checks[0]!;
    return { code, severity, hint, message: mergedMessage(group.checks), ...group };
  });
}

function mergedMessage(checks: readonly RunCheck[]): string {
  const figures = checks.map(({ message }) => message.match(figure) ?? []);
  let slot = 0;
  return checks[0]!.message.replace(figure, (first) => {
    const own = figures.map((found) => found[slot]!);
    slot++;
    const sorted = [...new Set(own)].sort((a, b) => Number(a) - Number(b));
    return sorted.length === 1 ? first : `${sorted[0]} to ${sorted.at(-1)}`;
  });
}

/** What the offset is to the verdict, as part of a sentence. */
export function constantWords({ share, common, step, sd }: CellConstant, role: ConstantRole | "carries"): string {
  const spread =
    sd === null ? "" : `${millimetres(sd.difference)} mm${sd.p === null ? "" : ` (p ${probability(sd.p)})`}`;
  const offset = `a constant offset of ${Math.abs(1e3 * common).toFixed(1)} mm`;
  switch (role) {
    case "explains":
      return `the difference is one of constant offset, not of steadiness: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "drowns":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square, so that the rms hardly knows of the spread about it, which differs by ${spread}`;
    case "hides":
      return `the spread about the mean error differs by ${spread}, which the rms does not show beside ${offset} on average, which steps by ${millimetres(step)} mm with the configuration`;
    case "adds":
      return `most of the difference is one of constant offset: the mean error steps by ${millimetres(step)} mm with the configuration, the spread about it by ${spread}`;
    case "carries":
      return `${offset} on average carries ${(100 * share).toFixed(0)} % of the mean square; the spread about it differs by ${spread}`;
  }
}

function millimetres(metres: number): string {
  const value = 1e3 * metres;
  return `${value < 0 ? "" : "+"}${value.toFixed(1)}`;
}

function probability(p: number): string {
  return p < 0.001 ? "below 0.001" : p.toPrecision(2);
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
