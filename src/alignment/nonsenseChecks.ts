import type { Settings } from "../contract/settings.ts";
import type { Check } from "../foundation/checks.ts";
import { axes, type SignalName } from "../foundation/signals.ts";
import type { PoseTrack, Window } from "../foundation/tracks.ts";
import { extent } from "../numeric/extent.ts";
import { lowerBound } from "../numeric/lowerBound.ts";
import { median } from "../numeric/median.ts";
import type { PreparedSignal } from "./timedSignals.ts";

/** What cannot be a captured body, however the rest of its own run looks: an axis that never changes, a speed that no vehicle has. */
export function nonsenseChecks(
  prepared: ReadonlyMap<SignalName, PreparedSignal>,
  onRun: (signal: PreparedSignal, t: Float64Array) => Float64Array,
  scored: Window | null,
  settings: Settings,
): Check[] {
  return (["vehicle_pose", "effector_pose"] as const).flatMap((name) => {
    const signal = prepared.get(name);
    if (!signal?.poses || scored === null) return [];
    const t = onRun(signal, signal.poses.t);
    const [from, to] = [lowerBound(t, scored[0]), lowerBound(t, scored[1])];
    if (to - from < 50) return [];
    return [...stillAxis(name, signal.poses, from, to), ...wildMotion(name, signal.poses, from, to, settings)];
  });
}

/** An axis that keeps one number while another moves: a column that was never filled, or the wrong one. */
function stillAxis(name: SignalName, poses: PoseTrack, from: number, to: number): Check[] {
  const still = axes.filter((axis) => {
    const { low, high } = extent(poses[axis].subarray(from, to));
    return low === high;
  });
  if (still.length === 0 || still.length === axes.length) return [];
  return [
    {
      code: "frozen",
      severity: "unusable",
      message: `${still.join(" and ")} of ${name} ${still.length > 1 ? "keep" : "keeps"} one value throughout, to the last digit, while the other ${still.length > 1 ? "axis moves" : "axes move"}: no capture does that`,
      evidence: { signal: name, axes: still, value_m: poses[still[0]!][from]!, poses: to - from },
      hint: "a column that was never filled, or another column than was meant: check `columns` or `fields`",
    },
  ];
}

/** Half of all steps faster than anything that flies: noise, a wrong unit, or rows in no order of time. */
function wildMotion(
  name: SignalName,
  { t, x, y, z }: PoseTrack,
  from: number,
  to: number,
  settings: Settings,
): Check[] {
  const speeds = new Float64Array(to - from - 1);
  for (let i = from + 1; i < to; i++) {
    const way = Math.hypot(x[i]! - x[i - 1]!, y[i]! - y[i - 1]!, z[i]! - z[i - 1]!);
    speeds[i - from - 1] = way / (t[i]! - t[i - 1]!);
  }
  const usual = median(speeds);
  if (!(usual > settings.impossible_speed)) return [];
  return [
    {
      code: "jump",
      severity: "unusable",
      message: `${name} moves at ${usual.toFixed(0)} m/s from one pose to the next, by half of its poses: nothing in an arena flies like that`,
      evidence: { signal: name, median_speed_m_s: usual, poses: to - from },
      hint: "check the unit of the positions (`units: { position: mm }`), their columns, and that the rows are in the order of time",
    },
  ];
}
