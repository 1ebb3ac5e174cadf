import type { ClockRule } from "../../contract/campaign.ts";
import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { Window } from "../../foundation/tracks.ts";
import { isDate, type Timeline } from "../stamps.ts";
import type { MotionSight } from "./motionSight.ts";
import type { offsetAnywhere, SearchedClocks } from "./offsetAnywhere.ts";
import type { RefinedOffset } from "./refineOffset.ts";

/** Where the offset between two clocks may be looked for. */
interface ExpectedOffset {
  /** that clock's stamp minus the reference clock's, seconds */
  readonly near: number;
  /** the same in words, as it stands behind "within 2 s of" */
  readonly about: string;
}

/** A signal as far as its clock goes. */
export interface Stamped {
  readonly timeline: Timeline;
  /** epoch of its receipts, nanoseconds */
  readonly received: bigint;
  /** which of the run's logs it stands in; null: the only one */
  readonly log: string | null;
  /** whether that is a log of messages, which one recorder received, and not a table or a point file, whose times are its own */
  readonly messages: boolean;
}

/**
 * What two logs tell of the offset between their clocks before any motion is looked at: two dates are meant to be the same;
 * stamps that one recorder received, or two recorders that both know the date, are placed by their receipt.
 *
 * @returns null where nothing is known: each log counts from its own start
 */
function expectedOffset(that: Stamped, reference: Stamped): ExpectedOffset | null {
  if (isDate(that.timeline.epoch) && isDate(reference.timeline.epoch))
    return { near: 0, about: "0 s (both clocks show dates)" };
  const oneRecorder = that.log === reference.log && that.messages && reference.messages;
  if (!oneRecorder && !(isDate(that.received) && isDate(reference.received))) return null;
  const near = late(that) - late(reference);
  return Number.isFinite(near) ? { near, about: "the offset that the times of receipt show" } : null;
}

/** What a signal's times are ahead of its receipt, seconds: nothing where it is placed by receipt. */
function late({ timeline }: Stamped): number {
  return timeline.source === "log" ? 0 : timeline.stampMinusReceipt;
}

/** The offset at which both signals begin together: where two logs were started by one trigger. */
function offsetOfStarts(that: Timeline, reference: Timeline): ExpectedOffset {
  return {
    near: Number(that.epoch - reference.epoch) / 1e9 + that.t[0]! - reference.t[0]!,
    about: "the offset at which both logs begin together",
  };
}

/** What two sights have in common at an offset of the first, seconds on the clock of the second. */
export function commonWindow(that: MotionSight, reference: MotionSight, offset: number): Window {
  return [Math.max(that.t[0]! - offset, reference.t[0]!), Math.min(that.t.at(-1)! - offset, reference.t.at(-1)!)];
}

/** Standard error of an offset `t` seconds after the instant that its covariance refers to, seconds. */
export function standardErrorAt([v00, v01, v11]: RefinedOffset["covariance"], t: number): number {
  return Math.sqrt(Math.max(0, v00 + 2 * t * v01 + t * t * v11));
}

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
type Place = Omit<OffsetSearch, keyof SearchedClocks>;

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
