import type { Campaign, ClockRule } from "../contract/campaign.ts";
import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import type { RecordedSignal } from "../foundation/recording.ts";
import type { SignalName } from "../foundation/signals.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { extent } from "../numeric/extent.ts";
import { gather } from "../numeric/gather.ts";
import { type ClockEstimate, estimateClock, type OffsetCovariance, type SightKind } from "./clock/estimateClock.ts";
import type { Stamped } from "./clock/expectedOffset.ts";
import { aboutVertical, type MotionSight, sightOfAttitude, sightOfPosition, sightOfRate } from "./clock/motionSight.ts";
import { offsetAnywhere } from "./clock/offsetAnywhere.ts";
import { placeOf } from "./clock/placeOf.ts";
import { clockUnseen, hasAttitude, hasTilt } from "./measuredAttitude.ts";
import type { Timeline } from "./stamps.ts";

/** A signal with its instants on its own clock. */
export interface TimedSignal {
  readonly signal: RecordedSignal;
  readonly timeline: Timeline;
  readonly clock: string;
  /** screened poses on the signal's own clock (seconds after `timeline.epoch`), where the signal is a pose */
  readonly poses: PoseTrack | null;
  readonly interval: number;
}

/** Brings a clock's seconds to seconds since the run's epoch on the reference clock. */
export interface ClockMap {
  /** of seconds that count from `epoch` on that clock: an integer, subtracted once for all of them */
  readonly toRun: (epoch: bigint) => (seconds: number) => number;
  readonly estimate: ClockEstimate | null;
  /** of offset (at the run's start) and skew; null where they are known or declared */
  readonly covariance: OffsetCovariance | null;
  readonly checks: readonly Check[];
}

/** Longest step over which a rate is taken as known, in median intervals of the sight. */
const longestStepIntervals = 3.5;

/**
 * Maps of all clocks of a run. A clock that cannot be told has `estimate` null and an `unusable` check.
 *
 * @param runEpoch  the run's epoch on the reference clock
 */
export function mapClocks(
  campaign: Campaign,
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
        ? fixedOffset(rule.offset, contradiction(campaign, name, rule.offset, signals, runEpoch, settings), runEpoch)
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

function fixedOffset(offset: number, checks: readonly Check[], runEpoch: bigint): ClockMap {
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
    checks,
  };
}

/**
 * What a gyro says of a declared offset, where both sights are in the manifest: a wrong sign is the likeliest slip of all.
 * The declared offset stays in force; the doubt says what the motion shows.
 */
function contradiction(
  campaign: Campaign,
  name: string,
  offset: number,
  signals: ReadonlyMap<SignalName, TimedSignal>,
  runEpoch: bigint,
  settings: Settings,
): Check[] {
  const pose = signals.get("vehicle_pose");
  const rate = signals.get("vehicle_rate");
  if (!pose || !rate || pose.clock !== name || rate.clock === name) return [];
  if (pose.timeline.t.length < 2 || rate.timeline.t.length < 2) return [];
  const signalPair = ["vehicle_pose", "vehicle_rate"] as const;
  const about = (near: number): ClockEstimate | null => {
    const rule = { kind: "same-motion", pair: signalPair, search: null, near } as const;
    return fromMotion(campaign, name, rule, signals, runEpoch, settings).estimate;
  };
  const anywhere = (): ClockEstimate | null => {
    if (!hasAttitude(pose)) return null;
    const { sights, epochs } = sightsOf(pose, rate, "gyro", runEpoch);
    const found = offsetAnywhere(...sights, { clock: name, signals: signalPair, epochs }, settings);
    return found.check === null ? about(found.offset + epochs) : null;
  };
  const estimate = about(offset) ?? anywhere();
  if (estimate === null) return [];
  const apart = estimate.offset - offset;
  if (Math.abs(apart) < Math.max(settings.clock_contradiction, 5 * (estimate.offset_se ?? 0))) return [];
  return [
    {
      code: "clock-axes-disagree",
      severity: "doubt",
      message: `the offset of clock ${name} is declared as ${(1e3 * offset).toFixed(1)} ms, but the gyro and the captured attitude show ${(1e3 * estimate.offset).toFixed(1)} ms`,
      evidence: {
        clock: name,
        declared_s: offset,
        from_motion_s: estimate.offset,
        from_motion_se_s: estimate.offset_se,
      },
      hint: "check its sign (that clock's stamp minus the reference clock's), or let `same_motion: [vehicle_pose, vehicle_rate]` find it",
    },
  ];
}

function fromMotion(
  campaign: Campaign,
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
  const unturned = [that, reference].find(({ signal: { signal } }) => signal !== "vehicle_rate");
  if (kind === "gyro" && unturned !== undefined && !hasAttitude(unturned)) return lost(clockUnseen(name, unturned));
  const { sights, epochs } = sightsOf(that, reference, kind, runEpoch);
  const what = { clock: name, signals: rule.pair, epochs };
  const found = offsetAnywhere(...sights, what, settings);
  const place = placeOf(rule, stampedOf(campaign, that), stampedOf(campaign, reference), what, found, settings);
  if ("code" in place) return lost(place);
  const { estimate, covariance, checks } = estimateClock(name, kind, ...sights, { ...place, ...what }, settings);
  if (estimate === null) return { ...linearMap(0n, Number.NaN, 0), estimate: null, covariance: null, checks };
  const { offset, skew } = estimate;
  const alone = kind !== "position" && yawAlone([that, reference]) ? "; by the yaw alone" : "";
  return {
    ...linearMap(that.timeline.epoch, offset, skew),
    estimate: { ...estimate, offset: offset + epochs, source: estimate.source + alone },
    covariance,
    checks,
  };
}

/** Both sights of one motion, the second after the run's epoch, the first `epochs` seconds away from it. */
function sightsOf(that: TimedSignal, reference: TimedSignal, kind: SightKind, runEpoch: bigint) {
  // epochs apart as integers; what is left is a small number of seconds
  const epochs = Number(that.timeline.epoch - runEpoch) / 1e9;
  const referenceShift = Number(reference.timeline.epoch - runEpoch) / 1e9;
  const seen = (timed: TimedSignal): MotionSight => {
    const sight = sightOf(timed, kind);
    return kind !== "position" && yawAlone([that, reference]) ? aboutVertical(sight) : sight;
  };
  return { sights: [seen(that), shifted(seen(reference), referenceShift)] as const, epochs };
}

function stampedOf(campaign: Campaign, { signal, timeline }: TimedSignal): Stamped {
  const source = campaign.signals[signal.signal];
  return {
    timeline,
    received: signal.received.epoch,
    log: source?.log ?? null,
    messages: source?.columns == null && source?.markers == null,
  };
}

function sightKind(that: TimedSignal, reference: TimedSignal): SightKind {
  const isRate = (timed: TimedSignal): boolean => timed.signal.signal === "vehicle_rate";
  if (isRate(that) || isRate(reference)) return "gyro";
  // an estimate that carries the identity throughout has no attitude to show
  const turns = ({ signal, poses }: TimedSignal): boolean =>
    signal.columns.qw !== undefined &&
    poses !== null &&
    [poses.qx, poses.qy, poses.qz, poses.qw].some((column) => extent(column).high - extent(column).low > 1e-4);
  if (!turns(that) || !turns(reference)) return "position";
  const placed = [that, reference].every(({ signal }) => signal.columns.x !== undefined);
  return placed && yawAlone([that, reference]) ? "position" : "attitude";
}

/** Whether one of two sights of turning does not show the tilt, in which most of the motion lies. */
function yawAlone(sights: readonly TimedSignal[]): boolean {
  return sights.some((timed) => timed.signal.signal !== "vehicle_rate" && !hasTilt(timed));
}

function sightOf(timed: TimedSignal, kind: SightKind): MotionSight {
  const longest = longestStepIntervals * timed.interval;
  if (timed.signal.signal === "vehicle_rate") {
    const pick = (name: string): Float64Array => {
      const column = timed.signal.columns[name] ?? new Float64Array(timed.signal.received.seconds.length);
      return gather(column, timed.timeline.order);
    };
    return sightOfRate(timed.timeline.t, [pick("wx"), pick("wy"), pick("wz")], longest);
  }
  const poses = timed.poses!;
  return kind === "position" ? sightOfPosition(poses, longest) : sightOfAttitude(poses, longest);
}

function shifted(sight: MotionSight, seconds: number): MotionSight {
  return seconds === 0 ? sight : { ...sight, t: sight.t.map((t) => t + seconds) };
}
