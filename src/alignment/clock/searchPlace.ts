import type { ClockRule } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import { expectedOffset, offsetOfStarts, type Stamped } from "./expectedOffset.ts";
import type { offsetAnywhere, SearchedClocks } from "./offsetAnywhere.ts";

/** Where the offset is looked for. */
export interface OffsetSearch {
  /** expected offset between the two columns, seconds */
  readonly near: number;
  /** half width of the search, seconds */
  readonly search: number;
  /** where that is, in words */
  readonly where: string;
  /** what to add to an offset between the two columns to make it one between the stamps, seconds */
  readonly epochs: number;
  readonly signals: readonly [string, string];
  /** whether nothing was known beforehand, and `near` was found among all overlaps: then the motion has to show that it is one */
  readonly anywhere: boolean;
  /** what to do where nothing is found there */
  readonly hint: string;
}

/** Where to look, `near` between the columns. */
export type Place = Omit<OffsetSearch, keyof SearchedClocks>;

/**
 * Where the offset between two clocks is to be looked for: about a declared `near`, else about what the logs themselves
 * tell, else wherever they overlap.
 *
 * Two logs that each count from their own start say nothing of their offset. A `search` declared for them is about the
 * offset at which both begin together.
 *
 * A search stands unless the whole of the motion shows clearly that the offset lies elsewhere: within a search that misses
 * it, cyclic motion would offer the wrong cycle.
 *
 * @param found  what the search over all overlaps tells
 * @returns a check where no place can be named
 */
export function searchPlace(
  rule: Extract<ClockRule, { kind: "same-motion" }>,
  that: Stamped,
  reference: Stamped,
  { clock, signals, epochs }: SearchedClocks,
  found: ReturnType<typeof offsetAnywhere>,
  settings: Settings,
): Place | Check {
  const search = rule.search ?? settings.clock_search;
  const within = (near: number, about: string, hint: string): Place | Check => {
    const offset = found.check === null ? found.offset + epochs : near;
    if (Math.abs(offset - near) <= search)
      return { near: near - epochs, search, where: `within ${search} s of ${about}`, anywhere: false, hint };
    return {
      code: "clock-ambiguous",
      severity: "unusable",
      message: `${signals[0]} and ${signals[1]} show the same motion ${(offset - near).toFixed(2)} s from ${about}, further than \`search\` (${search} s) allows`,
      evidence: { clock, offset_s: offset, near_s: near, search_s: search },
      hint: `check that both logs are of this flight, and how their clocks were set; ${hint}`,
    };
  };
  if (rule.near !== null)
    return within(rule.near, `${rule.near} s, the declared \`near\``, "check `near`, or widen `search`");
  const expected = expectedOffset(that, reference);
  if (expected !== null)
    return within(
      expected.near,
      expected.about,
      "give `near`, or widen `search`, where the clocks may be further apart, as where one of them writes local time",
    );
  if (rule.search === null) {
    if (found.check !== null) return found.check;
    return {
      near: found.offset,
      search: settings.clock_search_again,
      where: "at which they overlap",
      anywhere: true,
      hint: "give `near`",
    };
  }
  const starts = offsetOfStarts(that.timeline, reference.timeline);
  return within(
    starts.near,
    starts.about,
    "leave `search` out: the offset is then looked for wherever the logs overlap; or give `near`",
  );
}
