import { isUntested, type Verdict } from "../../catalogue/verdicts.ts";
import type { LooksPlan, PaidCell } from "../../contract/looksPlan.ts";
import type { VerdictLimits } from "../decideVerdict.ts";
import { fullBlocks } from "../estimateDifference.ts";
import { type GroupSums, sideCounts } from "../permutationSums.ts";
import { LookPrice } from "./lookPrice.ts";

/** What a look at a member of the family is worth, and what the looks before it showed. */
export interface MemberLook {
  readonly price: LookPrice;
  /** the largest fraction that was looked at before; 0 where none was */
  readonly furthest: number;
  /** the smallest sequential p of the looks before, with the difference then; null where none was tested */
  readonly best: { readonly p: number; readonly difference: number } | null;
  /** the first claim that a look before made, which stays */
  readonly claimed: { readonly verdict: Verdict; readonly fraction: number } | null;
}

/** Two looks at fractions no further apart than this are at the same runs. */
const same = 1e-9;

/**
 * How much of the information declared a cell's runs give: that of its difference over that of all runs, half of either
 * configuration; within blocks that of the blocks that hold both.
 *
 * @returns 1 when all are flown; null where the cell has no difference yet
 */
export function fractionOf(groups: GroupSums, method: "welch" | "blocked", plan: LooksPlan): number | null {
  const [n0, n1] = sideCounts(groups);
  const counts = method === "blocked" ? fullBlocks(groups).map(({ count }) => count) : [[n0, n1] as const];
  const weight = counts.reduce((sum, [a, b]) => sum + (a * b) / (a + b), 0);
  return weight > 0 ? (2 * weight) / plan.runs_at_most : null;
}

/**
 * A cell's look after those on record. Looks at fewer runs come before it; one at as many is what this look is again, and costs
 * nothing more; one at more runs is no step of this row. What any of them showed counts, but where it was doubted.
 *
 * @param earlier  of this cell, in the order they were made
 * @param pricing  makes the price of a row of fractions, once for all cells that share it
 */
export function memberLook(
  fraction: number,
  earlier: readonly PaidCell[],
  pricing: (fractions: readonly number[]) => LookPrice,
): MemberLook {
  const tested = earlier.flatMap((look) => (look.fraction === null ? [] : [{ ...look, fraction: look.fraction }]));
  const before = [...new Set(tested.map((look) => look.fraction))]
    .filter((at) => at < fraction - same)
    .sort((a, b) => a - b)
    .filter((at, i, all) => i === 0 || at - all[i - 1]! > same);
  const counted = tested.filter(
    (look, i) =>
      look.verdict !== "doubted" &&
      Math.abs(look.fraction - fraction) > same &&
      !tested.slice(i + 1).some((later) => Math.abs(later.fraction - look.fraction) <= same),
  );
  const best = counted
    .filter(({ difference }) => difference !== null)
    .reduce<PaidCell | null>((least, look) => (least === null || look.p < least.p ? look : least), null);
  const claim = counted.find(({ verdict }) => isClaimed(verdict));
  return {
    price: pricing([...before, fraction]),
    furthest: Math.max(0, ...tested.map((look) => look.fraction)),
    best: best === null ? null : { p: best.p, difference: best.difference! },
    claimed: claim === undefined ? null : { verdict: claim.verdict, fraction: claim.fraction },
  };
}

function isClaimed(verdict: Verdict): boolean {
  return !isUntested(verdict) && verdict !== "within the noise" && verdict !== "doubted";
}

/** Prices of rows of fractions, each made once. */
export function pricesOf(
  { spending }: LooksPlan,
  limits: Pick<VerdictLimits, "familyError" | "equivalenceError">,
  family: number,
): (fractions: readonly number[]) => LookPrice {
  const exact = [
    ...Array.from({ length: family }, (_, k) => limits.familyError / (k + 1)),
    2 * limits.equivalenceError,
  ];
  const made = new Map<string, LookPrice>();
  return (fractions) => {
    const key = fractions.join();
    const price = made.get(key) ?? new LookPrice(spending, fractions, exact);
    made.set(key, price);
    return price;
  };
}
