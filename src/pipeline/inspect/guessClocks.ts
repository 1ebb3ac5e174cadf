import type { ClockGuess, StampFigures } from "../../contract/inspection.ts";
import { median } from "../../numeric/median.ts";

/** Delays closer together than this can be transport alone; clocks that nobody set are further apart, s. */
const sameClock = 0.05;
/** Fewer stamped messages than this say nothing of a clock: a latched message is stamped long before it is received. */
const enoughMessages = 10;
/** Nor do stamps that wander this far against receipt: they tell when something happened, not when it was sent, s. */
const steady = 0.5;

/**
 * Which topics seem to share a clock: those whose stamps lie equally far from receipt, to 50 ms. Topics without stamps are
 * on the recorder's clock; those with few messages or wandering stamps on none. A guess: two clocks that agree to 50 ms look
 * like one.
 *
 * @param topics  those with messages
 * @returns the recorder's clock first where topics are on it (`recorder`), then `clock-2`, `clock-3` by delay
 */
export function guessClocks(
  topics: readonly { readonly topic: string; readonly messages: number; readonly stamps: StampFigures | null }[],
): ClockGuess[] {
  const placed = topics
    .filter(
      ({ messages, stamps }) =>
        stamps?.delay_median == null || (messages - stamps.zero >= enoughMessages && stamps.delay_spread! <= steady),
    )
    .map(({ topic, stamps }) => ({
      topic,
      delay: stamps?.delay_median ?? 0,
      epoch: stamps?.epoch ?? ("date" as const),
      by: stamps?.delay_median == null ? ("receipt" as const) : ("header" as const),
    }))
    .sort((a, b) => a.delay - b.delay);
  const groups: (typeof placed)[] = [];
  for (const entry of placed) {
    const group = groups.at(-1);
    if (group !== undefined && entry.delay - group.at(-1)!.delay <= sameClock) group.push(entry);
    else groups.push([entry]);
  }
  const isRecorder = (group: typeof placed): boolean => group.some(({ delay }) => Math.abs(delay) <= sameClock);
  const ordered = [...groups.filter(isRecorder), ...groups.filter((group) => !isRecorder(group))];
  return ordered.map((group, index) => {
    const ways = new Set(group.map(({ by }) => by));
    return {
      name: index === 0 && isRecorder(group) ? "recorder" : `clock-${index + 1}`,
      topics: group.map(({ topic }) => topic).sort(),
      epoch: group.every(({ epoch }) => epoch === "date") ? "date" : "since start",
      delay_median: median(Float64Array.from(group, ({ delay }) => delay)),
      by: ways.size === 2 ? "both" : group[0]!.by,
    };
  });
}
