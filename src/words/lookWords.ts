import type { Cell } from "../contract/cell.ts";
import type { LooksPaid } from "../contract/looksPlan.ts";
import { joinWords } from "./amounts.ts";

interface Looks {
  readonly count: number;
  readonly first: string | null;
  readonly paid?: LooksPaid | undefined;
}

/** Below this chance of still being claimed it is advised to stop: common practice in trials, no source. */
export const littleChance = 0.1;

const spendings: Readonly<Record<LooksPaid["spending"], string>> = {
  "obrien-fleming": "of O’Brien and Fleming’s type",
  pocock: "of Pocock’s type",
};

/** 0.0031 as "0.31"; what is not 0 never reads as such. */
function inPercent(share: number): string {
  const value = 100 * share;
  if (value > 0 && value < 0.005) return "less than 0.01";
  return value.toFixed(value < 1 ? 2 : 1).replace(/\.0$/, "");
}

/** How often the verdicts of these flights were looked at, and what that means. */
export function looksText({ count, first, paid }: Looks): string {
  const since = first === null ? "" : `, first on ${first.slice(0, 10)}`;
  if (paid !== undefined) {
    const times = count <= 1 ? "Looked at once" : `Looked at ${count} times${since}`;
    return `${times}; looks are paid for, with spending ${spendings[paid.spending]} over at most ${paid.runs_at_most} runs of either configuration on each trajectory. ${spentText(paid)}`;
  }
  if (count <= 1) return "Looked at once.";
  return `Looked at ${count} times${since}, each time with something changed that the verdicts rest on: runs, measure, set-up, or what is accepted. Choosing again, or flying on, until a verdict comes makes false alarms more frequent.`;
}

/**
 * What is spent of the error that the campaign allows itself, what of that by this look, and what is left.
 *
 * @example spentText(...) // => "With 55 % flown, 3.3 of the 5 % false alarms that the campaign allows itself are spent, 0.59 by this look; 1.7 are left."
 */
function spentText({ error, trajectories }: LooksPaid): string {
  if (trajectories.length === 0) return "Nothing could be compared yet, so nothing is spent.";
  const alike = trajectories.every(
    ({ fraction, cost }) =>
      Math.max(Math.abs(fraction - trajectories[0]!.fraction), Math.abs(cost - trajectories[0]!.cost)) < 1e-9,
  );
  const parts = (alike ? trajectories.slice(0, 1) : trajectories).map(({ trajectory, fraction, cost, spent }, k) => {
    const where = `${alike ? "" : `in ${trajectory}, `}with ${Math.round(100 * fraction)} % flown`;
    const whole = k === 0 ? ` of the ${inPercent(error)} % false alarms that the campaign allows itself` : "";
    const now = cost > 0 ? inPercent(cost) : "none";
    return `${where}, ${inPercent(spent)}${whole} are spent, ${now} by this look; ${inPercent(Math.max(0, error - spent))} are left`;
  });
  const text = parts.join("; ");
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

/** The look in a sentence of the answer; "" where it is the first and free. */
export function lookSentence({ count, paid }: Looks): string {
  if (paid === undefined)
    return count > 1 ? `This is look ${count} at these flights: each look more makes a false alarm likelier.` : "";
  return `Look ${count}, paid for: ${spentText(paid).replace(/^[A-Z]/, (letter) => letter.toLowerCase())}`;
}

/**
 * Whether flying on is still worth it for what is open: advice, binding nothing.
 *
 * @param open    cells of the family that are within the noise
 * @param placed  how cells are named
 * @returns "" where looks are not paid for, or every open cell has a fair chance
 */
export function chanceSentence(
  open: readonly Cell[],
  { paid }: Pick<Looks, "paid">,
  placed: (cells: readonly Cell[]) => string,
): string {
  const known = open.filter(({ look }) => look !== undefined && look.chance !== null);
  const little = known.filter(({ look }) => look!.chance! < littleChance);
  if (paid === undefined || little.length === 0) return "";
  const most = Math.max(1, Math.ceil(100 * Math.max(...little.map(({ look }) => look!.chance!))));
  const why = `at most ${most} in 100 if the true change is the smallest that matters and all ${paid.runs_at_most} runs of either configuration are flown`;
  return little.length === open.length
    ? `Stop: no chance left to show a difference in what is open (${why}). This is advice and binds nothing; that a change is too small to matter may still be shown.`
    : `Hardly a chance left to show a difference: ${placed(little)} (${why}).`;
}

/** Claims of earlier looks, which stay whatever came after; "" where there is none. */
export function keptSentence(family: readonly Cell[], placed: (cells: readonly Cell[]) => string): string {
  const kept = family.filter(
    ({ look, verdict }) => look !== undefined && look.claimed !== null && verdict === look.claimed.verdict,
  );
  if (kept.length === 0) return "";
  const at = [...new Set(kept.map(({ look }) => `${Math.round(100 * look!.claimed!.fraction)} %`))];
  return `Claimed at an earlier look (with ${joinWords(at)} flown), and so it stays: ${placed(kept)}.`;
}

/** What the intervals of a campaign with paid looks are. */
export const repeatedIntervals =
  "Intervals are repeated ones: those of all looks together hold the truth in 95 of 100 cases, so at early looks they are wide.";
