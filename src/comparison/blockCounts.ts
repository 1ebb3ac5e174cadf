import type { GroupSums } from "./groupSums.ts";

/** How the blocks are filled. */
export interface BlockCounts {
  /** blocks that hold both configurations */
  readonly both: number;
  /** every block holds as many of one as of the other */
  readonly equal: boolean;
}

/** A block without a run holds 0 and 0, which is equal. */
export function blockCounts({ count }: Pick<GroupSums, "count">): BlockCounts {
  let both = 0;
  let equal = true;
  for (let group = 0; group < count.length; group += 2) {
    const [n0, n1] = [count[group]!, count[group + 1]!];
    if (n0 > 0 && n1 > 0) both++;
    if (n0 !== n1) equal = false;
  }
  return { both, equal };
}
