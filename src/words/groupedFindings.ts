import type { RunCheck, RunEvaluation } from "../contract/evaluation.ts";

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
