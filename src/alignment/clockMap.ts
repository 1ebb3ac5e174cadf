import type { ClockRule } from "../contract/campaign.ts";
import type { RunGrounds } from "../contract/runGrounds.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { SignalName } from "../foundation/tracks.ts";
import { clockUnseen } from "./attitude.ts";
import { type ClockEstimate, estimateClock, type OffsetCovariance } from "./clock/estimateClock.ts";
import { type Stamped, searchPlace } from "./clock/expectedOffset.ts";
import { offsetAnywhere } from "./clock/offsetAnywhere.ts";
import { sightKind, sightsOf, type TimedSignal, unturned, yawAlone } from "./clock/sights.ts";
import { meanLateness } from "./receiptGaps.ts";

/** Brings a clock's seconds to seconds since the run's epoch on the reference clock. */
export interface ClockMap {
  /** of seconds that count from `epoch` on that clock: an integer, subtracted once for all of them */
  readonly toRun: (epoch: bigint) => (seconds: number) => number;
  readonly estimate: ClockEstimate | null;
  /** of offset (at the run's start) and skew; null where they are known or declared */
  readonly covariance: OffsetCovariance | null;
  readonly checks: readonly Check[];
}

/**
 * Maps of all clocks of a run. A clock that cannot be found has `estimate` null and an `unusable` check.
 *
 * @param runEpoch  the run's epoch on the reference clock
 */
export function mapClocks(
  campaign: RunGrounds,
  signals: ReadonlyMap<SignalName, TimedSignal>,
  reference: string,
  runEpoch: bigint,
  settings: Settings,
): Map<string, ClockMap> {
  const maps = new Map<string, ClockMap>();
  maps.set(reference, { ...linearMap(runEpoch, 0, 0), estimate: null, covariance: null, checks: [] });
  for (const [name, rule] of Object.entries(campaign.clocks.others)) {
    if (name === reference) continue;
    maps.set(
      name,
      rule.kind === "offset"
        ? fixedOffset(rule.offset, runEpoch)
        : fromMotion(campaign, name, rule, signals, runEpoch, settings),
    );
  }
  return maps;
}

/** Seconds after `start`, less the offset, at the rate of the reference clock. Epochs are subtracted as integers. */
function linearMap(start: bigint, offset: number, skew: number): Pick<ClockMap, "toRun"> {
  return {
    toRun: (epoch) => {
      const apart = Number(epoch - start) / 1e9;
      return (seconds) => (apart + seconds - offset) / (1 + skew);
    },
  };
}

function fixedOffset(offset: number, runEpoch: bigint): ClockMap {
  return {
    ...linearMap(runEpoch, offset, 0),
    estimate: {
      offset,
      offset_se: null,
      skew: 0,
      skew_se: null,
      source: "declared",
      second_peak_ratio: null,
      ambiguous: false,
    },
    covariance: null,
    checks: [],
  };
}

function fromMotion(
  campaign: RunGrounds,
  name: string,
  rule: Extract<ClockRule, { kind: "same-motion" }>,
  signals: ReadonlyMap<SignalName, TimedSignal>,
  runEpoch: bigint,
  settings: Settings,
): ClockMap {
  const that = signals.get(rule.pair[0]);
  const reference = signals.get(rule.pair[1]);
  const lost = (check: Check): ClockMap => ({
    ...linearMap(0n, Number.NaN, 0),
    estimate: null,
    covariance: null,
    checks: [check],
  });
  if (!that || !reference || that.timeline.t.length < 2 || reference.timeline.t.length < 2) {
    const gone = !that || that.timeline.t.length < 2 ? rule.pair[0] : rule.pair[1];
    return lost({
      code: "missing-signal",
      severity: "unusable",
      message: `the offset of clock ${name} needs ${rule.pair[0]} and ${rule.pair[1]}, but this run holds no ${gone}`,
      evidence: { clock: name, missing: gone },
      hint: "record both sights of the motion in every run, or declare `offset` where it is known from elsewhere",
    });
  }
  const kind = sightKind(that, reference);
  const blind = kind === "gyro" ? unturned(that, reference) : null;
  if (blind !== null) return lost(clockUnseen(name, blind));
  // epochs apart as integers; what is left is a small number of seconds
  const epochs = Number(that.timeline.epoch - runEpoch) / 1e9;
  const referenceShift = Number(reference.timeline.epoch - runEpoch) / 1e9;
  const sights = sightsOf([that, reference], kind, (timed, t) =>
    timed === that || referenceShift === 0 ? t : t.map((seconds) => seconds + referenceShift),
  );
  const what = { clock: name, signals: rule.pair, epochs };
  const found = offsetAnywhere(...sights, what, settings);
  const place = searchPlace(rule, stampedOf(campaign, that), stampedOf(campaign, reference), what, found, settings);
  if ("code" in place) return lost(place);
  const { estimate, covariance, checks } = estimateClock(name, kind, ...sights, { ...place, ...what }, settings);
  if (estimate === null) return { ...linearMap(0n, Number.NaN, 0), estimate: null, covariance: null, checks };
  const { offset, skew } = estimate;
  const receipt = receiptError([that, reference], settings);
  const alone = kind !== "position" && yawAlone([that, reference]) ? "; by the yaw alone" : "";
  return {
    ...linearMap(that.timeline.epoch, offset, skew),
    estimate: {
      ...estimate,
      offset: offset + epochs,
      offset_se: estimate.offset_se === null ? null : Math.hypot(estimate.offset_se, receipt.error),
      source: estimate.source + alone + receipt.words,
    },
    covariance: covariance && [covariance[0] + receipt.error ** 2, covariance[1], covariance[2]],
    checks,
  };
}

/**
 * What receipt adds to the standard error of an offset, seconds: a signal placed by receipt is late by the least delay, which
 * nothing shows, and by what its messages were held up beyond it. Motion finds the sum of clock and delay and cannot part them.
 */
function receiptError(pair: readonly TimedSignal[], settings: Settings): { error: number; words: string } {
  const received = pair.filter(({ timeline }) => timeline.source === "log");
  const late = received.map(({ timeline }) => meanLateness(timeline.t));
  const said = received.map(({ signal }, i) => `${signal.signal} by ${(1e3 * late[i]!).toFixed(1)} ms on average`);
  return {
    error: Math.hypot(...late.map((seconds) => Math.hypot(seconds, settings.clock_receipt_floor))),
    words:
      received.length === 0
        ? ""
        : `; includes the delay of receipt (beyond the least delay ${said.join(", ")}; the least itself is not seen and taken as some ${1e3 * settings.clock_receipt_floor} ms), which the standard error covers`,
  };
}

function stampedOf(campaign: RunGrounds, { signal, timeline }: TimedSignal): Stamped {
  const source = campaign.signals[signal.signal];
  return {
    timeline,
    received: signal.received.epoch,
    log: source?.log ?? null,
    messages: source?.columns == null && source?.markers == null,
  };
}
