import type { FrameFits, MarkerFit } from "../../foundation/recording.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { median } from "../../numeric/median.ts";
import { rotationMatrix } from "../../numeric/quaternion/rotationMatrix.ts";
import { areCollinear, type RigidFit, rigidFit } from "../../numeric/rigidFit.ts";
import type { PointFile } from "./openC3d.ts";
import { state } from "./pointState.ts";

/** Poses of a body, one row for each frame in which its measured markers fix it. */
export interface SolvedBody {
  readonly frames: Uint32Array;
  readonly columns: Readonly<Record<string, Float64Array>>;
  readonly fit: MarkerFit;
  /** null for a single marker, which always fits */
  readonly fits: FrameFits | null;
}

/**
 * The pose of a body in each frame from its measured markers; those that are missing or modelled take no part. Frames with
 * fewer than three, or with all on one line, give no row.
 *
 * @param points  numbers of the body's markers in the file
 * @param places  the same markers in the body's frame, metres
 * @param metres  metres per unit of the file
 * @param from,to frames [from, to)
 */
export function solveBody(
  file: PointFile,
  { points, places, labels }: { points: readonly number[]; places: readonly Vector3[]; labels: readonly string[] },
  metres: number,
  [from, to]: readonly [number, number],
): SolvedBody {
  const count = points.length;
  const total = Math.max(0, to - from);
  const rows = new Uint32Array(total);
  const out = Array.from({ length: 7 }, () => new Float64Array(total));
  const misfit = new Float64Array(total);
  const usedSet = new Uint32Array(total);
  const sets: (readonly number[])[] = [];
  /** number of the set, -1 where it fixes no pose */
  const setOf = new Map<string, number>();
  const body = new Float64Array(3 * count);
  const measured = new Float64Array(3 * count);
  const members: number[] = [];
  const steps: number[] = [];
  let [before, now] = [new Float64Array(3 * count), new Float64Array(3 * count)];
  const all = file.labels.length;
  let [solved, missing, modelled, squares, freedom] = [0, 0, 0, 0, 0];
  for (let frame = from; frame < to; frame++) {
    let n = 0;
    let present = "";
    for (let k = 0; k < count; k++) {
      const at = frame * all + points[k]!;
      const found = file.states[at]!;
      if (found === state.missing) missing++;
      else if (found === state.modelled) modelled++;
      if (found !== state.measured) continue;
      present += `${k},`;
      members[n] = k;
      for (let axis = 0; axis < 3; axis++) {
        body[3 * n + axis] = places[k]![axis]!;
        measured[3 * n + axis] = file.positions[3 * at + axis]! * metres;
      }
      n++;
    }
    if (count === 1) {
      if (n === 0) continue;
      for (let axis = 0; axis < 3; axis++) out[axis]![solved] = measured[axis]!;
      rows[solved++] = frame;
      continue;
    }
    let set = setOf.get(present);
    if (set === undefined) {
      const sound = n >= 3 && !areCollinear(body.subarray(0, 3 * n));
      set = sound ? sets.push(members.slice(0, n)) - 1 : -1;
      setOf.set(present, set);
    }
    if (set < 0) continue;
    const [declared, seen] = [body.subarray(0, 3 * n), measured.subarray(0, 3 * n)];
    const solution = rigidFit(declared, seen);
    for (let axis = 0; axis < 3; axis++) out[axis]![solved] = solution.translation[axis]!;
    for (let k = 0; k < 4; k++) out[3 + k]![solved] = solution.rotation[k]!;
    squares += solution.squares;
    freedom += 3 * n - 6;
    misfit[solved] = Math.sqrt(solution.squares / (3 * n - 6));
    usedSet[solved] = set;
    residuals(declared, seen, solution, now);
    if (solved > 0 && usedSet[solved - 1] === set) steps.push(differenceNoise(before, now, n));
    [before, now] = [now, before];
    rows[solved++] = frame;
  }
  const names = count === 1 ? ["x", "y", "z"] : ["x", "y", "z", "qx", "qy", "qz", "qw"];
  return {
    frames: rows.subarray(0, solved),
    columns: Object.fromEntries(names.map((name, k) => [name, out[k]!.slice(0, solved)])),
    fit: {
      markers: labels,
      frames: total,
      solved,
      missing,
      modelled,
      residual: freedom > 0 ? Math.sqrt(squares / freedom) : 0,
    },
    fits:
      count === 1
        ? null
        : {
            misfit: misfit.slice(0, solved),
            set: usedSet.slice(0, solved),
            sets,
            noise: steps.length === 0 ? null : median(Float64Array.from(steps)),
          },
  };
}

/**
 * Where markers were measured less where they are declared, in the body's frame, metres: x y z of each. Noise of n markers has
 * 3 n - 6 freedoms there.
 *
 * @param out  what is written to, as long as `body` or longer: a run has many frames
 */
function residuals(
  body: Float64Array,
  measured: Float64Array,
  { rotation, translation }: RigidFit,
  out: Float64Array,
): void {
  const [x, y, z] = translation;
  const r = rotationMatrix(rotation);
  for (let i = 0; i < body.length; i += 3) {
    const [a, b, c] = [measured[i]! - x, measured[i + 1]! - y, measured[i + 2]! - z];
    for (let axis = 0; axis < 3; axis++)
      out[i + axis] = r[axis]! * a + r[3 + axis]! * b + r[6 + axis]! * c - body[i + axis]!;
  }
}

/**
 * Noise of a coordinate by the residuals of two frames, whose difference holds its square twice.
 *
 * @param markers  how many of them the frames hold
 * @source J. von Neumann, Ann. Math. Stat. 12 (1941) 367-395
 */
function differenceNoise(before: Float64Array, now: Float64Array, markers: number): number {
  let squares = 0;
  for (let i = 0; i < 3 * markers; i++) squares += (now[i]! - before[i]!) ** 2;
  return Math.sqrt(squares / (2 * (3 * markers - 6)));
}
