import type { PoseTrack } from "../foundation/tracks.ts";
import type { Metres, Radians, Vector3 } from "../foundation/units.ts";
import { combineUncertainty } from "./combineUncertainty.ts";
import type { AxisColumns } from "./errorBudget.ts";
import { greatestSquare, leastSquare } from "./squareWithin.ts";

/** How the effector's error on one axis would move if a frame were off; per parameter, in the order of `parameters`. */
export interface AxisSensitivity {
  /** growth of the root mean square per metre or radian */
  readonly rms: readonly number[];
  /** growth of the sd (n - 1) per metre or radian */
  readonly sd: readonly number[];
  /** first-order change of the rms, metres: all parameters off by their uncertainty at once, at their worst; and in quadrature */
  readonly worst: number;
  readonly quadrature: number;
  /** the same of the sd */
  readonly worst_sd: number;
  readonly quadrature_sd: number;
  /**
   * Means over the samples of (error, change per parameter) and of their products (upper triangle, row by row): with
   * d = (1, shift of each parameter) the mean square of the error so shifted is d' products d
   */
  readonly means: readonly number[];
  readonly products: readonly number[];
  /** least and greatest rms with every parameter anywhere within its uncertainty, not only to first order */
  readonly rms_within: readonly [number, number];
}

export type FrameParameter = `${"tool_point" | "arm_base" | "arm_base_turn"}.${"x" | "y" | "z"}`;

export interface FrameUncertainty {
  /** of each coordinate of tool point and arm base */
  readonly length: Metres;
  /** of each component of the arm base's rotation vector */
  readonly angle: Radians;
}

const axes = ["x", "y", "z"] as const;

/** The parameters there are: the arm base enters only where the command is given in its frame. */
export function frameParameters(armBase: Vector3 | null): FrameParameter[] {
  const groups = armBase === null ? (["tool_point"] as const) : (["tool_point", "arm_base", "arm_base_turn"] as const);
  return groups.flatMap((group) => axes.map((axis): FrameParameter => `${group}.${axis}`));
}

/**
 * How the effector's error would move if the tool point or the arm base were not where the manifest says.
 *
 * With e the error, R and R0 the measured and commanded attitude, l the commanded tool point as seen from the arm base in
 * vehicle axes, the error's change per unit of each parameter is
 *
 *   tool point       R        (a shift in vehicle axes: exact for an arm that does not turn its tool, else the same size in another direction)
 *   arm base         -R0
 *   arm base, turn   -R0 (unit x l)
 *
 * e is linear in the parameters, so its mean square is a quadratic form in them, of which everything here follows. The
 * first-order change vanishes for an error without bias, though 5 mm would matter: `rms_within` has no such blind spot.
 * A shift that all runs share moves both sides of a comparison; the difference moves by the difference of the gradients.
 *
 * @param error     effector error, world, n >= 2 instants
 * @param vehicle   measured attitude
 * @param setpoint  commanded attitude
 * @param lever     commanded lever, body point to tool point, vehicle axes
 * @param options.armBase  origin of the arm-base frame, vehicle axes; null where the command is not given in it
 * @source combination: JCGM 100:2008 (GUM), 5.1.2 (quadrature, inputs that do not correlate) and note 1 to 5.2.2 (worst case)
 */
export function frameSensitivity(
  error: AxisColumns,
  vehicle: Attitude,
  setpoint: Attitude,
  lever: AxisColumns,
  options: { armBase: Vector3 | null; uncertainty: FrameUncertainty },
): Record<"x" | "y" | "z", AxisSensitivity> {
  const { armBase, uncertainty } = options;
  const count = armBase === null ? 3 : 9;
  const size = count + 1;
  // moments of [error, change per parameter] per axis: means, and the upper triangle of products
  const sums = axes.map(() => ({ first: new Float64Array(size), second: new Float64Array(size * size) }));
  const rows = axes.map(() => new Float64Array(size));
  const n = error.x.length;
  for (let i = 0; i < n; i++) {
    fillRotation(rows, 1, vehicle, i, 1);
    if (armBase !== null) {
      fillRotation(rows, 4, setpoint, i, -1);
      const lx = lever.x[i]! - armBase[0];
      const ly = lever.y[i]! - armBase[1];
      const lz = lever.z[i]! - armBase[2];
      for (let axis = 0; axis < 3; axis++) {
        const row = rows[axis]!;
        // -R0 (unit x l), from the columns of -R0 just written
        row[7] = row[6]! * ly - row[5]! * lz;
        row[8] = row[4]! * lz - row[6]! * lx;
        row[9] = row[5]! * lx - row[4]! * ly;
      }
    }
    for (let axis = 0; axis < 3; axis++) {
      const row = rows[axis]!;
      row[0] = error[axes[axis]!][i]!;
      const { first, second } = sums[axis]!;
      for (let a = 0; a < size; a++) {
        const value = row[a]!;
        first[a]! += value;
        for (let b = a; b < size; b++) second[a * size + b]! += value * row[b]!;
      }
    }
  }
  const limits = Float64Array.from({ length: count }, (_, k) => (k < 6 ? uncertainty.length : uncertainty.angle));
  const of = (axis: number): AxisSensitivity => describe(sums[axis]!.first, sums[axis]!.second, n, limits);
  return { x: of(0), y: of(1), z: of(2) };
}

type Attitude = Pick<PoseTrack, "qx" | "qy" | "qz" | "qw">;

/** Writes sign R into three columns of the axes' rows. */
function fillRotation(rows: readonly Float64Array[], column: number, q: Attitude, i: number, sign: 1 | -1): void {
  const x = q.qx[i]!;
  const y = q.qy[i]!;
  const z = q.qz[i]!;
  const w = q.qw[i]!;
  const [first, second, third] = rows as [Float64Array, Float64Array, Float64Array];
  first[column] = sign * (1 - 2 * (y * y + z * z));
  first[column + 1] = sign * 2 * (x * y - z * w);
  first[column + 2] = sign * 2 * (x * z + y * w);
  second[column] = sign * 2 * (x * y + z * w);
  second[column + 1] = sign * (1 - 2 * (x * x + z * z));
  second[column + 2] = sign * 2 * (y * z - x * w);
  third[column] = sign * 2 * (x * z - y * w);
  third[column + 1] = sign * 2 * (y * z + x * w);
  third[column + 2] = sign * (1 - 2 * (x * x + y * y));
}

function describe(first: Float64Array, second: Float64Array, n: number, limits: Float64Array): AxisSensitivity {
  const size = first.length;
  const rms = Math.sqrt(second[0]! / n);
  const sd = Math.sqrt(Math.max(0, second[0]! - (first[0]! * first[0]!) / n) / (n - 1));
  const gradient = Array.from(limits, (_, k) => (rms > 0 ? second[k + 1]! / n / rms : 0));
  const gradientOfSd = Array.from(limits, (_, k) =>
    sd > 0 ? (second[k + 1]! - (first[0]! * first[k + 1]!) / n) / (n - 1) / sd : 0,
  );
  const moved = combineUncertainty(gradient, limits);
  const movedSd = combineUncertainty(gradientOfSd, limits);
  const form = (a: number, b: number): number => second[Math.min(a, b) * size + Math.max(a, b)]! / n;
  const products: number[] = [];
  for (let a = 0; a < size; a++) for (let b = a; b < size; b++) products.push(form(a, b));
  return {
    rms: gradient,
    sd: gradientOfSd,
    means: Array.from(first, (sum) => sum / n),
    products,
    worst: moved.worst,
    quadrature: moved.quadrature,
    worst_sd: movedSd.worst,
    quadrature_sd: movedSd.quadrature,
    rms_within: [Math.sqrt(leastSquare(form, limits)), Math.sqrt(greatestSquare(form, limits))],
  };
}
