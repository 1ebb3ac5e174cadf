import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { SignalName } from "../foundation/signals.ts";
import type { PreparedSignal } from "./timedSignals.ts";

/** Signals of one clock whose stamps begin further apart than this count from different epochs, seconds. */
const longestApart = 86_400;

type Prepared = ReadonlyMap<SignalName, PreparedSignal>;

/** Signals that the manifest puts on one clock but whose stamps count from another epoch than the others'. */
export function epochStrangers(prepared: Prepared): Check[] {
  const first = new Map<string, { name: SignalName; at: bigint }>();
  const checks: Check[] = [];
  for (const [name, { clock, timeline }] of prepared) {
    if (timeline.t.length === 0) continue;
    const at = timeline.epoch + BigInt(Math.round(timeline.t[0]! * 1e9));
    const other = first.get(clock);
    if (other === undefined) {
      first.set(clock, { name, at });
      continue;
    }
    const apart = Number(at - other.at) / 1e9;
    if (Math.abs(apart) < longestApart) continue;
    checks.push({
      code: "stamp-epoch",
      severity: "unusable",
      message: `${name} and ${other.name} are declared on one clock, but their stamps begin ${(Math.abs(apart) / 86_400).toFixed(1)} days apart`,
      evidence: { signal: name, other: other.name, apart_s: apart },
      hint: "one of them counts from another epoch (boot, 1970): give it a clock of its own with `same_motion`, or use `stamp: log`",
    });
  }
  return checks;
}

/**
 * Signals of one clock of which some are placed by their header and some, for want of one, by receipt: that is sound only
 * where stamp and receipt agree.
 */
export function mixedStamps(prepared: Prepared, settings: Settings): Check[] {
  const checks: Check[] = [];
  for (const [name, signal] of prepared) {
    if (signal.timeline.source !== "log" || signal.timeline.t.length === 0) continue;
    const stamped = [...prepared].find(
      ([, other]) => other.clock === signal.clock && other.timeline.source === "header" && other.timeline.t.length > 0,
    );
    if (stamped === undefined) continue;
    const [otherName, { timeline }] = stamped;
    const { stampMinusReceipt, stampSpread } = timeline;
    if (Math.abs(stampMinusReceipt) < settings.clock_mixable && stampSpread < settings.clock_mixable) continue;
    checks.push({
      code: "stamp-log-used",
      severity: "doubt",
      message: `${name} is placed by its receipt and ${otherName} by its stamp, which lies ${stampMinusReceipt.toFixed(2)} s from its own receipt (middle 90 % within ${stampSpread.toFixed(2)} s): the two are out of step by that much`,
      evidence: {
        by_receipt: name,
        by_stamp: otherName,
        stamp_minus_receipt_s: stampMinusReceipt,
        stamp_minus_receipt_spread_s: stampSpread,
      },
      hint: "errors of a moving vehicle mean little on such times: stamp both where they are made, or give each a clock of its own",
    });
  }
  return checks;
}
