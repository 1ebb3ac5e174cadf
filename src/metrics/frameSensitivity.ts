import type { PoseTrack } from "../foundation/tracks.ts";
import type { Metres, Radians, Vector3 } from "../foundation/units.ts";
import { plainSum } from "../numeric/descriptive.ts";
import type { AxisColumns } from "./errorBudget.ts";
import { greatestSquare, leastSquare } from "./shareWithin.ts";

/**
 * Uncertainty of a result from those of its inputs: all at their worst at once, and in quadrature.
 *
 * @param sensitivities  change of the result per unit of each input
 * @param uncertainties  of the inputs, at least 0
 * @source JCGM 100:2008 (GUM), 5.1.2 (quadrature, inputs that do not correlate) and note 1 to 5.2.2 (worst case)
 * @example combineUncertainty([1, 1], [3, 4]) // => { worst: 7, quadrature: 5 }
 */
export function combineUncertainty(
  sensitivities: ArrayLike<number>,
  uncertainties: ArrayLike<number>,
): { worst: number; quadrature: number } {
  let worst = 0;
  let squares = 0;
  for (let k = 0; k < sensitivities.length; k++) {
    const part = Math.abs(sensitivities[k]! * uncertainties[k]!);
    worst += part;
    squares += part * part;
  }
  return { worst, quadrature: Math.sqrt(squares) };
}

/** How the effector's error on one axis would move if a frame were off; per parameter, in the order of `parameters`. */
interface AxisSensitivity {
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

type FrameParameter = `${"tool_point" | "arm_base" | "arm_base_turn"}.${"x" | "y" | "z"}`;

interface FrameUncertainty {
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
 * Of one stretch of samples after the other.
 *
 * @source combination: JCGM 100:2008 (GUM), 5.1.2 (quadrature, inputs that do not correlate) and note 1 to 5.2.2 (worst case)
 */
export class SensitivitySums {
  readonly #armBase: Vector3 | null;
  readonly #limits: Float64Array;
  readonly #first: readonly Float64Array[];
  readonly #second: readonly Float64Array[];
  readonly #changes: readonly Float64Array[][];
  #samples = 0;

  /** @param options.armBase  origin of the arm-base frame, vehicle axes; null where the command is not given in it */
  constructor({ armBase, uncertainty }: { armBase: Vector3 | null; uncertainty: FrameUncertainty }) {
    const count = armBase === null ? 3 : 9;
    const size = count + 1;
    this.#armBase = armBase;
    this.#limits = Float64Array.from({ length: count }, (_, k) => (k < 6 ? uncertainty.length : uncertainty.angle));
    this.#changes = axes.map(() => Array.from({ length: count }, () => new Float64Array(block)));
    this.#first = axes.map(() => new Float64Array(size));
    this.#second = axes.map(() => new Float64Array(size * size));
  }

  /**
   * Adds the first n instants.
   *
   * @param error     effector error, world
   * @param vehicle   measured attitude
   * @param setpoint  commanded attitude
   * @param lever     commanded lever, body point to tool point, vehicle axes
   */
  add(error: AxisColumns, vehicle: Attitude, setpoint: Attitude, lever: AxisColumns, n: number): void {
    const changes = this.#changes;
    const size = this.#limits.length + 1;
    // by blocks, which stay in the processor's cache: a long flight would need dozens of columns of its length
    for (let from = 0; from < n; from += block) {
      const length = Math.min(block, n - from);
      fillRotation(vehicle, from, length, 1, changes, 0);
      if (this.#armBase !== null) {
        fillRotation(setpoint, from, length, -1, changes, 3);
        for (const row of changes) fillTurns(row, lever, from, length, this.#armBase);
      }
      axes.forEach((axis, k) => {
        const columns = [error[axis].subarray(from, from + length), ...changes[k]!];
        const [first, second] = [this.#first[k]!, this.#second[k]!];
        for (let a = 0; a < size; a++) {
          first[a]! += plainSum(columns[a]!, 0, length);
          for (let b = a; b < size; b++) second[a * size + b]! += productOf(columns[a]!, columns[b]!, length);
        }
      });
    }
    this.#samples += n;
  }

  /** Of all that was added, two instants at least. */
  figures(): Record<"x" | "y" | "z", AxisSensitivity> {
    const of = (axis: number): AxisSensitivity =>
      describe(this.#first[axis]!, this.#second[axis]!, this.#samples, this.#limits);
    return { x: of(0), y: of(1), z: of(2) };
  }
}

type Attitude = Pick<PoseTrack, "qx" | "qy" | "qz" | "qw">;

type Triple = [Float64Array, Float64Array, Float64Array];

/** sign R of `length` samples from `from` on: per row of the matrix its three columns, from column `at` on. */
function fillRotation(
  { qx, qy, qz, qw }: Attitude,
  from: number,
  length: number,
  sign: 1 | -1,
  rows: readonly Float64Array[][],
  at: number,
): void {
  const [[xx, xy, xz], [yx, yy, yz], [zx, zy, zz]] = rows.map((row) => row.slice(at, at + 3)) as [
    Triple,
    Triple,
    Triple,
  ];
  for (let i = 0; i < length; i++) {
    const x = qx[from + i]!;
    const y = qy[from + i]!;
    const z = qz[from + i]!;
    const w = qw[from + i]!;
    xx[i] = sign * (1 - 2 * (y * y + z * z));
    xy[i] = sign * 2 * (x * y - z * w);
    xz[i] = sign * 2 * (x * z + y * w);
    yx[i] = sign * 2 * (x * y + z * w);
    yy[i] = sign * (1 - 2 * (x * x + z * z));
    yz[i] = sign * 2 * (y * z - x * w);
    zx[i] = sign * 2 * (x * z - y * w);
    zy[i] = sign * 2 * (y * z + x * w);
    zz[i] = sign * (1 - 2 * (x * x + y * y));
  }
}

/** -R0 (unit x l) about the three axes into columns 6 to 8 of a row, from -R0 in its columns 3 to 5 and the lever about the arm base. */
function fillTurns(
  row: readonly Float64Array[],
  lever: AxisColumns,
  from: number,
  length: number,
  armBase: Vector3,
): void {
  const [x, y, z] = row.slice(3, 6) as Triple;
  const [about, across, along] = row.slice(6, 9) as Triple;
  for (let i = 0; i < length; i++) {
    const lx = lever.x[from + i]! - armBase[0];
    const ly = lever.y[from + i]! - armBase[1];
    const lz = lever.z[from + i]! - armBase[2];
    about[i] = z[i]! * ly - y[i]! * lz;
    across[i] = x[i]! * lz - z[i]! * lx;
    along[i] = y[i]! * lx - x[i]! * ly;
  }
}

/** Samples that are worked through at a time. */
const block = 1024;

/** Sum of the products of two columns: four sums side by side, for additions that wait for one another take longer. */
function productOf(a: Float64Array, b: Float64Array, length: number): number {
  let s0 = 0;
  let s1 = 0;
  let s2 = 0;
  let s3 = 0;
  let i = 0;
  for (; i + 3 < length; i += 4) {
    s0 += a[i]! * b[i]!;
    s1 += a[i + 1]! * b[i + 1]!;
    s2 += a[i + 2]! * b[i + 2]!;
    s3 += a[i + 3]! * b[i + 3]!;
  }
  for (; i < length; i++) s0 += a[i]! * b[i]!;
  return s0 + s1 + (s2 + s3);
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
