import { type SignalName, signalNames } from "../../foundation/tracks.ts";
import type { Campaign, ClockRule, Clocks } from "../campaign.ts";
import { choice, list, mapping, optional, quantity, text } from "./fields.ts";
import type { Reading } from "./reading.ts";
import { onlyClock } from "./readSignals.ts";
import type { Path, TextMapping, TextTree } from "./textTree.ts";

export const clockRule = mapping(
  {
    same_motion: optional(list(choice(signalNames, "a signal"), "two signals")).describe(
      "two signals that show the vehicle's motion, one on this clock and one on the reference clock",
    ),
    offset: optional(quantity("time")).describe("this clock's stamp less the reference clock's, where it is known"),
    search: optional(quantity("time", "positive")).describe("how far from `near` to look, on both sides"),
    near: optional(quantity("time")).describe("the offset about which to look"),
  },
  "a clock rule",
);
export const referenceField = text("the name of the reference clock");

/** Signals that show the vehicle's own motion. */
const sights: readonly SignalName[] = ["vehicle_pose", "vehicle_rate", "vehicle_estimate"];

/**
 * How the clocks relate. Where the signals have one clock only, `clocks` may be left out.
 *
 * @param signals  null where they are faulty: then only the form of `clocks` is checked
 */
export function readClocks(reading: Reading, root: TextMapping, signals: Campaign["signals"] | null): Clocks {
  const clocks = Object.values(signals ?? {}).map(({ clock }) => clock);
  const used = [...new Set(clocks)].filter((clock) => clock !== "");
  complainOfClockless(reading, signals ?? {}, used);
  if (root.clocks === undefined || root.clocks === null) {
    if (used.length > 1) {
      const message = `found the clocks ${used.join(" and ")} in signals but no clocks, expected how they relate`;
      const hint = `clocks: { reference: ${used[1]}, ${used[0]}: { same_motion: [vehicle_pose, vehicle_rate] } }`;
      reading.complain(["signals"], message, hint);
    }
    return { reference: null, others: {} };
  }
  const tree = reading.mapping(root.clocks, ["clocks"], "a mapping with reference and one rule for each other clock");
  if (tree === null) return { reference: null, others: {} };
  const { reference: referenceTree, ...rules } = tree;
  const name = readReference(reading, referenceTree, used);
  const others: Record<string, ClockRule> = {};
  for (const [clock, entry] of Object.entries(rules)) {
    const path = ["clocks", clock];
    if (clock === name) {
      const message = `found a rule for ${clock}, the reference clock, expected rules for the other clocks only`;
      reading.complain(path, message, "leave it out, or name another reference");
      continue;
    }
    const found = readRule(reading, entry, {
      clock,
      reference: name !== null && used.includes(name) ? name : null,
      signals,
      path,
    });
    if (found !== null) others[clock] = found;
  }
  for (const clock of used) {
    if (clock === name || clock in rules || name === null || !used.includes(name)) continue;
    const message = `found no rule for the clock ${clock}, expected one: signals use it`;
    reading.complain(["clocks"], message, `add ${clock}: { same_motion: [...] } or ${clock}: { offset: ... }`);
  }
  return used.length < 2 ? { reference: null, others: {} } : { reference: name, others };
}

function complainOfClockless(reading: Reading, signals: Campaign["signals"], used: readonly string[]): void {
  for (const [signal, { clock }] of Object.entries(signals)) {
    if (clock !== "") continue;
    const message = `found no clock, expected it: other signals name ${used.join(", ")}`;
    reading.complain(["signals", signal], message, "say which clock stamped it, for every signal or for none");
  }
}

function readReference(reading: Reading, tree: TextTree | undefined, used: readonly string[]): string | null {
  const path = ["clocks", "reference"];
  if ((tree === undefined || tree === null) && used.length < 2) return null;
  const name = reading.read(referenceField, tree, path);
  if (name !== null && used[0] === onlyClock) {
    const message = `found ${JSON.stringify(name)}, but no signal names a clock, expected clock: in every signal`;
    reading.complain(path, message, "say which clock stamped each signal, or leave clocks out");
  } else if (name !== null && used.length > 0 && !used.includes(name)) {
    reading.unknownName(path, name, { what: "the clock of a signal", known: used });
  }
  return name;
}

interface RuleContext {
  readonly clock: string;
  readonly reference: string | null;
  readonly signals: Campaign["signals"] | null;
  readonly path: Path;
}

function readRule(reading: Reading, tree: TextTree, context: RuleContext): ClockRule | null {
  const { path } = context;
  const found = reading.read(clockRule, tree ?? undefined, path);
  if (found === null) return null;
  const { same_motion: pair, offset, search, near } = found;
  if ((pair === null) === (offset === null)) {
    const message = `found ${pair === null ? "neither" : "both"} same_motion ${pair === null ? "nor" : "and"} offset, expected one of them`;
    reading.complain(path, message, "offset where it is known, same_motion where the logs show it");
    return null;
  }
  if (offset !== null) {
    for (const [key, value] of Object.entries({ search, near })) {
      if (value !== null)
        reading.complain([...path, key], `found ${key} beside offset, expected it only with same_motion`);
    }
    return { kind: "offset", offset };
  }
  const ordered = orderedPair(reading, pair ?? [], context);
  return ordered === null ? null : { kind: "same-motion", pair: ordered, search, near };
}

/** Signal on this clock first, signal on the reference clock second, however they were written. */
function orderedPair(
  reading: Reading,
  pair: readonly SignalName[],
  { clock, reference, signals, path }: RuleContext,
): readonly [SignalName, SignalName] | null {
  const at = [...path, "same_motion"];
  const [first, second] = pair;
  if (pair.length !== 2 || first === undefined || second === undefined || first === second) {
    const message = `found ${pair.length === 2 ? "the same signal twice" : `${pair.length} signals`}, expected two different signals`;
    reading.complain(at, message, `one on ${clock}, one on ${reference ?? "the reference clock"}`);
    return null;
  }
  let sound = true;
  for (const [index, name] of pair.entries()) {
    if (!sights.includes(name)) {
      const message = `found ${name}, expected a sight of the vehicle's motion: ${sights.join(", ")}`;
      const hint = "what a command and its response share is a response delay, never a clock offset";
      reading.complain([...at, index], message, hint);
      sound = false;
    } else if (signals !== null && signals[name] === undefined) {
      reading.unknownName([...at, index], name, { what: "a declared signal", known: Object.keys(signals) });
      sound = false;
    }
  }
  if (!sound || reference === null || signals === null) return null;
  const clocks = [signals[first]?.clock, signals[second]?.clock];
  if (clocks[0] === clock && clocks[1] === reference) return [first, second];
  if (clocks[1] === clock && clocks[0] === reference) return [second, first];
  const message = `found ${first} on ${clocks[0]} and ${second} on ${clocks[1]}, expected one on ${clock}, the other on ${reference}`;
  reading.complain(at, message, "two sights of one motion on the two clocks show the offset");
  return null;
}
