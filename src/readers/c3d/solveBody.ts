import type { FrameFits, MarkerFit } from "../../foundation/recording.ts";
import type { Vector3 } from "../../foundation/units.ts";
import { median } from "../../numeric/descriptive.ts";
import { rotationMatrix } from "../../numeric/quaternion.ts";
import { areCollinear, type RigidFit, rigidFit } from "../../numeric/rigidFit.ts";
import type { PointFile } from "./openC3d.ts";
import { state } from "./pointFields.ts";

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
  const seen = new SeenMarkers(file, points, places, metres);
  const total = Math.max(0, to - from);
  return points.length === 1 ? solvePoint(seen, labels, [from, to], total) : solvePose(seen, labels, [from, to], total);
}

/** A single marker has a place and no attitude, and always fits. */
function solvePoint(
  seen: SeenMarkers,
  labels: readonly string[],
  [from, to]: readonly [number, number],
  total: number,
): SolvedBody {
  const rows = new Uint32Array(total);
  const out = ["x", "y", "z"].map(() => new Float64Array(total));
  let solved = 0;
  for (let frame = from; frame < to; frame++) {
    if (seen.look(frame) === 0) continue;
    for (let axis = 0; axis < 3; axis++) out[axis]![solved] = seen.measured[axis]!;
    rows[solved++] = frame;
  }
  return {
    frames: rows.subarray(0, solved),
    columns: namedColumns(["x", "y", "z"], out, solved),
    fit: fitOf(seen, labels, { frames: total, solved, residual: 0 }),
    fits: null,
  };
}

function solvePose(
  seen: SeenMarkers,
  labels: readonly string[],
  [from, to]: readonly [number, number],
  total: number,
): SolvedBody {
  const rows = new Uint32Array(total);
  const names = ["x", "y", "z", "qx", "qy", "qz", "qw"];
  const out = names.map(() => new Float64Array(total));
  const misfit = new Float64Array(total);
  const usedSet = new Uint32Array(total);
  const sets = new MarkerSets();
  const steps: number[] = [];
  let [before, now] = [new Float64Array(3 * labels.length), new Float64Array(3 * labels.length)];
  let [solved, squares, freedom] = [0, 0, 0];
  for (let frame = from; frame < to; frame++) {
    const n = seen.look(frame);
    const [declared, measured] = [seen.declared.subarray(0, 3 * n), seen.measured.subarray(0, 3 * n)];
    const set = sets.numberOf(seen.members.slice(0, n), declared);
    if (set < 0) continue;
    const solution = rigidFit(declared, measured);
    for (let axis = 0; axis < 3; axis++) out[axis]![solved] = solution.translation[axis]!;
    for (let k = 0; k < 4; k++) out[3 + k]![solved] = solution.rotation[k]!;
    squares += solution.squares;
    freedom += 3 * n - 6;
    misfit[solved] = Math.sqrt(solution.squares / (3 * n - 6));
    usedSet[solved] = set;
    residuals(declared, measured, solution, now);
    if (solved > 0 && usedSet[solved - 1] === set) steps.push(differenceNoise(before, now, n));
    [before, now] = [now, before];
    rows[solved++] = frame;
  }
  const residual = freedom > 0 ? Math.sqrt(squares / freedom) : 0;
  return {
    frames: rows.subarray(0, solved),
    columns: namedColumns(names, out, solved),
    fit: fitOf(seen, labels, { frames: total, solved, residual }),
    fits: {
      misfit: misfit.slice(0, solved),
      set: usedSet.slice(0, solved),
      sets: sets.all,
      noise: steps.length === 0 ? null : median(Float64Array.from(steps)),
    },
  };
}

function fitOf(
  { missing, modelled }: SeenMarkers,
  markers: readonly string[],
  counts: Pick<MarkerFit, "frames" | "solved" | "residual">,
): MarkerFit {
  return { markers, ...counts, missing, modelled };
}

function namedColumns(names: readonly string[], out: readonly Float64Array[], solved: number) {
  return Object.fromEntries(names.map((name, k) => [name, out[k]!.slice(0, solved)]));
}

/** The measured markers of one frame after another, in arrays that are filled again for each. */
class SeenMarkers {
  /** places in the body's frame, and as measured, metres: x y z of each member in turn */
  readonly declared: Float64Array;
  readonly measured: Float64Array;
  /** numbers of the markers that were measured */
  readonly members: number[] = [];
  /** readings that were missing, or modelled, in all frames so far */
  missing = 0;
  modelled = 0;
  readonly #file: PointFile;
  readonly #points: readonly number[];
  readonly #places: readonly Vector3[];
  readonly #metres: number;

  constructor(file: PointFile, points: readonly number[], places: readonly Vector3[], metres: number) {
    this.#file = file;
    this.#points = points;
    this.#places = places;
    this.#metres = metres;
    this.declared = new Float64Array(3 * points.length);
    this.measured = new Float64Array(3 * points.length);
  }

  /** Fills the arrays from a frame. @returns how many markers were measured */
  look(frame: number): number {
    const { labels, states, positions } = this.#file;
    let n = 0;
    for (let k = 0; k < this.#points.length; k++) {
      const at = frame * labels.length + this.#points[k]!;
      const found = states[at]!;
      if (found === state.missing) this.missing++;
      else if (found === state.modelled) this.modelled++;
      if (found !== state.measured) continue;
      this.members[n] = k;
      for (let axis = 0; axis < 3; axis++) {
        this.declared[3 * n + axis] = this.#places[k]![axis]!;
        this.measured[3 * n + axis] = positions[3 * at + axis]! * this.#metres;
      }
      n++;
    }
    return n;
  }
}

/** The sets of markers that fixed a pose, numbered as they came. */
class MarkerSets {
  readonly all: (readonly number[])[] = [];
  readonly #numbers = new Map<string, number>();

  /** @returns -1 where the markers, at these places, fix no pose: fewer than three, or on one line */
  numberOf(members: readonly number[], places: Float64Array): number {
    const key = members.join();
    let number = this.#numbers.get(key);
    if (number === undefined) {
      const sound = members.length >= 3 && !areCollinear(places);
      number = sound ? this.all.push(members) - 1 : -1;
      this.#numbers.set(key, number);
    }
    return number;
  }
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
