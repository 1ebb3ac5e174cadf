import type { PoseTrack } from "../foundation/tracks.ts";

export interface AxisColumns {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
}

/** What the effector's error is made of, at n instants, world axes, metres. The three parts add up to `total`. */
export interface BudgetParts {
  /** the vehicle is elsewhere than its setpoint */
  readonly vehicle: AxisColumns;
  /** the vehicle is turned against its setpoint, and the tool with it at the end of its lever */
  readonly attitude: AxisColumns;
  /** the arm holds the tool elsewhere than it was reported, seen in the world through the measured attitude */
  readonly arm: AxisColumns;
  readonly total: AxisColumns;
  /** commanded lever from body point to tool point, vehicle axes */
  readonly lever: AxisColumns;
}

export type BudgetPart = "vehicle" | "attitude" | "arm";

/** Figures of one axis (or of the vector's length, where squares add over the axes). */
export interface BudgetFigures {
  /** root mean square of the effector's error, metres */
  readonly rms: number;
  /** root mean square of each part, metres */
  readonly parts: Readonly<Record<BudgetPart, number>>;
  /** of each part in the mean square; they add up to 1; null where there is no error at all */
  readonly shares: Readonly<Record<BudgetPart, number>> | null;
}

type Pose = Omit<PoseTrack, "t">;

/**
 * Error budget of the effector: tool error = vehicle translation + lever arm x attitude error + the arm's own error.
 *
 * With p, R the vehicle as measured, p0, R0 as it was told to be, and L = (asked tool point) - p0 the commanded lever:
 *
 *   vehicle   p - p0
 *   attitude  (R R0^T - 1) L         to first order: attitude error x L
 *   arm       (tool - p) - R R0^T L  the arm's error in the measured vehicle frame, turned into the world
 *
 * They add up to tool - asked at every instant, but for rounding. What attitude error and arm error do together (second
 * order) is counted with the arm. Where the command stands in the world the arm may well answer for the vehicle: its
 * part is then what it did against what it would have had to do with the vehicle at its setpoint, and cancels theirs.
 *
 * @param vehicle   measured body point and attitude, n instants
 * @param setpoint  commanded body point and attitude at the same instants
 * @param tool      measured tool point, world
 * @param asked     commanded tool point, world: what was asked for, not what the vehicle did
 * @param n         how many instants; all by default
 * @param out       columns to write to, at least n long; made where left out
 */
export function splitEffectorError(
  vehicle: Pose,
  setpoint: Pose,
  tool: AxisColumns,
  asked: AxisColumns,
  n = vehicle.x.length,
  out = budgetColumns(n),
): BudgetParts {
  for (let i = 0; i < n; i++) {
    const px = vehicle.x[i]!;
    const py = vehicle.y[i]!;
    const pz = vehicle.z[i]!;
    const lx = asked.x[i]! - setpoint.x[i]!;
    const ly = asked.y[i]! - setpoint.y[i]!;
    const lz = asked.z[i]! - setpoint.z[i]!;
    // into the commanded vehicle frame, and out of the measured one: v + 2 w (u x v) + 2 u x (u x v), written out
    let a = -setpoint.qx[i]!;
    let b = -setpoint.qy[i]!;
    let c = -setpoint.qz[i]!;
    let w = setpoint.qw[i]!;
    let tx = 2 * (b * lz - c * ly);
    let ty = 2 * (c * lx - a * lz);
    let tz = 2 * (a * ly - b * lx);
    const vx = lx + w * tx + b * tz - c * ty;
    const vy = ly + w * ty + c * tx - a * tz;
    const vz = lz + w * tz + a * ty - b * tx;
    a = vehicle.qx[i]!;
    b = vehicle.qy[i]!;
    c = vehicle.qz[i]!;
    w = vehicle.qw[i]!;
    tx = 2 * (b * vz - c * vy);
    ty = 2 * (c * vx - a * vz);
    tz = 2 * (a * vy - b * vx);
    const rx = vx + w * tx + b * tz - c * ty;
    const ry = vy + w * ty + c * tx - a * tz;
    const rz = vz + w * tz + a * ty - b * tx;
    out.vehicle.x[i] = px - setpoint.x[i]!;
    out.vehicle.y[i] = py - setpoint.y[i]!;
    out.vehicle.z[i] = pz - setpoint.z[i]!;
    out.attitude.x[i] = rx - lx;
    out.attitude.y[i] = ry - ly;
    out.attitude.z[i] = rz - lz;
    out.arm.x[i] = tool.x[i]! - px - rx;
    out.arm.y[i] = tool.y[i]! - py - ry;
    out.arm.z[i] = tool.z[i]! - pz - rz;
    out.total.x[i] = tool.x[i]! - asked.x[i]!;
    out.total.y[i] = tool.y[i]! - asked.y[i]!;
    out.total.z[i] = tool.z[i]! - asked.z[i]!;
    out.lever.x[i] = vx;
    out.lever.y[i] = vy;
    out.lever.z[i] = vz;
  }
  return out;
}

/** Room for the parts of n instants. */
export function budgetColumns(n: number): BudgetParts {
  const columns = (): AxisColumns => ({ x: new Float64Array(n), y: new Float64Array(n), z: new Float64Array(n) });
  return { vehicle: columns(), attitude: columns(), arm: columns(), total: columns(), lever: columns() };
}

/**
 * Size and share of each part, per axis and for the vector.
 *
 *   share = mean(part total) / mean(total^2)
 *
 * The parts add up to the total, so their products with it add up to its square and the shares to 1. A part that works
 * against the others has a negative share, and another then more than 1: half of what a pair of parts have in common goes
 * to each of them. About zero, not about the mean: standing offsets count.
 *
 * Of one stretch of samples after the other: a long flight's parts need not be kept.
 *
 * @source derivation above; the same rule for variances: A. F. Shorrocks, Econometrica 50 (1982) 193-211
 */
export class BudgetSums {
  readonly #x = new Float64Array(7);
  readonly #y = new Float64Array(7);
  readonly #z = new Float64Array(7);
  #samples = 0;

  /** Adds the first n instants. */
  add(parts: BudgetParts, n: number): void {
    addAxis(parts, "x", n, this.#x);
    addAxis(parts, "y", n, this.#y);
    addAxis(parts, "z", n, this.#z);
    this.#samples += n;
  }

  /** Of all that was added, one instant at least. */
  figures(): Record<"x" | "y" | "z" | "norm", BudgetFigures> {
    const norm = this.#x.map((value, k) => value + this.#y[k]! + this.#z[k]!);
    const of = (sums: Float64Array): BudgetFigures => figures(sums, this.#samples);
    return { x: of(this.#x), y: of(this.#y), z: of(this.#z), norm: of(norm) };
  }
}

/** Adds total^2, the three parts' squares, and the parts' products with the total, over the first n instants. */
function addAxis(parts: BudgetParts, axis: "x" | "y" | "z", n: number, sums: Float64Array): void {
  const first = parts.vehicle[axis];
  const second = parts.attitude[axis];
  const third = parts.arm[axis];
  let sumSum = 0;
  let aa = 0;
  let bb = 0;
  let cc = 0;
  let aSum = 0;
  let bSum = 0;
  let cSum = 0;
  for (let i = 0; i < n; i++) {
    const a = first[i]!;
    const b = second[i]!;
    const c = third[i]!;
    // the sum of the parts, not the total, which differs in its last digit: the shares then add up to 1 to rounding
    const sum = a + b + c;
    sumSum += sum * sum;
    aa += a * a;
    bb += b * b;
    cc += c * c;
    aSum += a * sum;
    bSum += b * sum;
    cSum += c * sum;
  }
  sums[0]! += sumSum;
  sums[1]! += aa;
  sums[2]! += bb;
  sums[3]! += cc;
  sums[4]! += aSum;
  sums[5]! += bSum;
  sums[6]! += cSum;
}

function figures(sums: Float64Array, n: number): BudgetFigures {
  const square = sums[0]!;
  const of = (first: number, pick: (sum: number) => number): Record<BudgetPart, number> => ({
    vehicle: pick(sums[first]!),
    attitude: pick(sums[first + 1]!),
    arm: pick(sums[first + 2]!),
  });
  return {
    rms: Math.sqrt(square / n),
    parts: of(1, (sum) => Math.sqrt(sum / n)),
    shares: square > 0 ? of(4, (sum) => sum / square) : null,
  };
}
