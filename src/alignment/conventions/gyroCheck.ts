import type { Settings } from "../../contract/settings.ts";
import type { Check } from "../../foundation/checks.ts";
import type { RecordedSignal } from "../../foundation/recording.ts";
import type { PoseTrack } from "../../foundation/tracks.ts";
import { sightOfAttitude, sightOfRate } from "../clock/motionSight.ts";
import { gridRates, type RateGrid } from "../clock/rateGrid.ts";
import { type TurnedSight, turnedSight, turnText } from "../clock/sights.ts";
import { type AxisReading, agreement, axisReadings, type CrossSums, readingText } from "./axisReadings.ts";

const step = 0.02;
const smoothing = 0.06;

/**
 * Whether the gyro and the captured attitude turn about the same axes, by the same amount. Looked for at every shift within
 * `search`, so that a clock which could not be found because of just that does not hide it.
 *
 * @param pose    captured attitude of the vehicle, campaign's axes
 * @param rates   the gyro, rows in the order of `t`
 * @param t       instants of the gyro's rows, seconds, on the pose's time to within `search`
 * @param search  seconds
 */
export function gyroCheck(
  pose: PoseTrack,
  {
    t,
    wx,
    wy,
    wz,
    topic,
  }: { t: Float64Array; wx: Float64Array; wy: Float64Array; wz: Float64Array } & Pick<RecordedSignal, "topic">,
  search: number,
  settings: Settings,
): Check[] {
  if (pose.t.length < 100 || t.length < 100) return [];
  const captured = gridRates(sightOfAttitude(pose, 0.1), step, smoothing);
  const gyro = gridRates(sightOfRate(t, [wx, wy, wz], 0.1), step, smoothing);
  const shift = Math.round((captured.start - gyro.start) / step);
  const most = Math.round(search / step);
  const found: CountedSums[] = [];
  let straight: Straight = { found: 0, ratio: Number.NaN, sums: null };
  for (let k = 0; k <= 2 * most && straight.found <= settings.gyro_agreement; k++) {
    // 0, 1, -1, 2, -2 ...: nearly every run ends at the first
    const sums = crossSums(captured, gyro, shift + (k % 2 === 0 ? -k / 2 : (k + 1) / 2));
    if (sums === null) continue;
    found.push(sums);
    const agreed = agreement(sums, axisReadings[0]!);
    if (agreed > straight.found) straight = { found: agreed, ratio: ratioOf(sums), sums };
  }
  if (straight.ratio > settings.gyro_degrees && straight.found > settings.gyro_agreement)
    return degreesCheck(straight, topic);
  // an axis about which little turns may be reversed without a sign of it in the sum
  const reversed = straight.sums === null ? null : reversedAxes(straight.sums, settings);
  if (straight.found > settings.gyro_agreement && reversed === null) return [];
  let best = bestReading(found);
  // an angle between two readings is better said as a turn
  const turn = straight.found > settings.gyro_agreement ? null : turnedSight(gyro, captured, 0, search);
  if (turn !== null && turn.agreement > best.found + 0.05) return [turnedCheck(turn, topic)];
  if (straight.found > settings.gyro_agreement && reversed !== null && straight.sums !== null)
    best = { found: agreement(straight.sums, reversed), reading: reversed };
  else if (!(best.found > settings.gyro_agreement && best.found - straight.found > settings.gyro_better))
    return strangersCheck(found, straight.found, topic, settings);
  const inverse = isReversed(best.reading);
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `gyro (${topic}) and captured attitude do not turn about the same axes: as declared they agree by ${straight.found.toFixed(2)} of 1, but with the gyro's axes read otherwise (${readingText(best.reading)}) by ${best.found.toFixed(2)}${inverse ? "; all three reversed is what a quaternion of the inverse turn (world in body) looks like" : ""}`,
      evidence: {
        topic,
        agreement: straight.found,
        agreement_if_read_so: best.found,
        reading: readingText(best.reading),
      },
      hint: "look at the axes of gyro and capture (`axes: { body: frd }`), at the order of the quaternion's columns and at how the marker body was defined; nothing was turned",
      // a wrong attitude misplaces what is laid out from it
      touches: { subjects: ["effector", "arm"], part: "all" },
    },
  ];
}

/**
 * Two flights in one run: at no shift do both move together about every axis about which both move. What one holds beyond the
 * other's energy is taken for its noise, as where clocks are joined; of two records of noise alone nothing is said.
 */
function strangersCheck(found: readonly CountedSums[], agreed: number, topic: string, settings: Settings): Check[] {
  const together = ({ first, second, cross, n }: CountedSums): boolean =>
    [0, 1, 2].every((axis) => {
      const [a, b] = [first[axis]!, second[axis]!];
      const least = Math.min(a, b);
      const moves = Math.sqrt(least / n) > settings.gyro_moves && least > settings.clock_axis_alike * Math.max(a, b);
      return !moves || cross[axis]![axis]! > settings.clock_axis_common * least;
    });
  if (found.length === 0 || found.some(together)) return [];
  return [
    {
      code: "clock-axes-disagree",
      severity: "doubt",
      message: `gyro (${topic}) and captured attitude both move, but not together (agreement ${agreed.toFixed(2)} of 1), whichever axes are read: two logs of different flights look like that, or a clock offset that is wrong`,
      evidence: { topic, agreement: agreed },
      hint: "check that both logs are of this flight, and the offset of their clocks; `same_motion: [vehicle_pose, vehicle_rate]` finds it",
    },
  ];
}

function turnedCheck(turn: TurnedSight, topic: string): Check {
  return {
    code: "frame-suspect",
    severity: "doubt",
    message: `gyro (${topic}) and captured attitude do not turn about the same axes: as declared they agree by ${turn.straight.toFixed(2)} of 1, but with the gyro turned by ${turnText(turn)} by ${turn.agreement.toFixed(2)}`,
    evidence: { topic, agreement: turn.straight, agreement_if_turned: turn.agreement, angle_deg: turn.angle },
    hint: "look at how the autopilot is mounted, at how the marker body was defined and at `axes`; nothing was turned",
  };
}

/** The reading of the axes, other than as they are, by which both agree best at any shift. */
function bestReading(found: readonly CountedSums[]): { found: number; reading: AxisReading } {
  let best = { found: 0, reading: axisReadings[0]! };
  for (const sums of found)
    for (const reading of axisReadings.slice(1)) {
      const agreed = agreement(sums, reading);
      if (agreed > best.found + 1e-3) best = { found: agreed, reading };
    }
  return best;
}

/** Sums over `n` points. */
type CountedSums = CrossSums & { readonly n: number };

/** The axes as they are, at the shift where they agree best. */
interface Straight {
  readonly found: number;
  readonly ratio: number;
  readonly sums: CrossSums | null;
}

/** How many times as fast the second turns. */
function ratioOf({ first, second }: CrossSums): number {
  return Math.sqrt((second[0] + second[1] + second[2]) / (first[0] + first[1] + first[2]));
}

/** Signs of the axes where one of them is clearly reversed; null where none is. */
function reversedAxes({ first, second, cross }: CrossSums, settings: Settings): AxisReading | null {
  const signs = [0, 1, 2].map((axis) => {
    const size = Math.sqrt(first[axis]! * second[axis]!);
    return size > 0 && cross[axis]![axis]! / size < -settings.gyro_agreement ? -1 : 1;
  });
  return signs.includes(-1) ? { order: [0, 1, 2], signs: [signs[0]!, signs[1]!, signs[2]!] } : null;
}

function degreesCheck(straight: Straight, topic: string): Check[] {
  return [
    {
      code: "frame-suspect",
      severity: "doubt",
      message: `the gyro (${topic}) turns ${straight.ratio.toFixed(1)} times as fast as the captured attitude: a rate in degrees per second taken for radians is 57.3 times too fast`,
      evidence: { topic, ratio: straight.ratio, agreement: straight.found },
      hint: "say `units: { rate: deg/s }` on vehicle_rate",
      touches: { windows: ["cycles"], part: "all" },
    },
  ];
}

function isReversed({ order, signs }: (typeof axisReadings)[number]): boolean {
  return order.every((axis, i) => axis === i) && signs.every((sign) => sign < 0);
}

/** Sums over the grid points that both know, the gyro's `shift` points later. */
function crossSums(captured: RateGrid, gyro: RateGrid, shift: number): CountedSums | null {
  const from = Math.max(0, -shift);
  const to = Math.min(captured.known.length, gyro.known.length - shift);
  const first = [0, 0, 0] as [number, number, number];
  const second = [0, 0, 0] as [number, number, number];
  const cross = [
    [0, 0, 0],
    [0, 0, 0],
    [0, 0, 0],
  ];
  let n = 0;
  for (let k = from; k < to; k++) {
    if (captured.known[k] === 0 || gyro.known[k + shift] === 0) continue;
    n++;
    for (let i = 0; i < 3; i++) {
      const a = captured.rates[i]![k]!;
      first[i]! += a * a;
      const b = gyro.rates[i]![k + shift]!;
      second[i]! += b * b;
      for (let j = 0; j < 3; j++) cross[i]![j]! += a * gyro.rates[j]![k + shift]!;
    }
  }
  return n < 100 ? null : { first, second, cross, n };
}
