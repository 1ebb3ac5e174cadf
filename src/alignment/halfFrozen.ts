import type { Settings } from "../contract/settings.ts";
import type { PoseTrack } from "../foundation/tracks.ts";
import { quantile } from "../numeric/descriptive.ts";
import { gatherBy } from "../numeric/sortedColumns.ts";

type Columns = readonly Float64Array[];

/**
 * Poses of which one half stands still to the last digit while the other goes on: a tracker that holds a lost point, or an attitude
 * that is no longer solved. All but the first of each stretch.
 *
 * What is written to `frozen_resolution` or finer never repeats by chance: `frozen_poses` in a row are enough, unless the motion
 * begins after them from nothing, as it does in a track without noise. Coarser, a body at
 * rest repeats often: there the stretch must be longer than the run's own repeats explain, and end in a step that its usual ones
 * do not reach. A half that never changes was not measured at all, and is no stretch.
 *
 * @param lost  1: a pose that is out already
 * @returns one flag a sample for the position, one for the attitude: 1 = frozen
 */
export function findHalfFrozen(
  { x, y, z, qx, qy, qz, qw }: PoseTrack,
  lost: Uint8Array,
  settings: Settings,
): { position: Uint8Array; attitude: Uint8Array } {
  return {
    position: frozenIn([x, y, z], lost, settings),
    attitude: frozenIn([qx, qy, qz, qw], lost, settings),
  };
}

function frozenIn(columns: Columns, lost: Uint8Array, settings: Settings): Uint8Array {
  const flags = new Uint8Array(lost.length);
  const runs = repeatsOf(columns, lost);
  if (runs.length === 0 || runs[0]!.to - runs[0]!.from + 1 === lost.length) return flags;
  const steps = stepsOf(columns, lost);
  if (steps.length === 0) return flags;
  const isFine =
    steps.reduce((least, step) => Math.min(least, step), Number.POSITIVE_INFINITY) <= settings.frozen_resolution;
  const least = isFine ? abrupt * quantile(steps, 0.5) : settings.frozen_step_ratio * quantile(steps, 0.95);
  const longest = isFine ? settings.frozen_poses : byChance(runs, lost.length, settings);
  for (const { from, to } of runs) {
    if (to - from + 1 < longest) continue;
    const edge = to + 1 < lost.length ? to : from - 1;
    if (edge >= 0 && stepAfter(columns, edge) > least) flags.fill(1, from + 1, to + 1);
  }
  return flags;
}

/** Of the usual step: what noise alone makes of the step with which a lost half comes back, and a track without noise does not. */
const abrupt = 0.1;

interface Repeats {
  readonly from: number;
  readonly to: number;
}

/** Stretches of at least two equal rows in a row, none of them lost. */
function repeatsOf(columns: Columns, lost: Uint8Array): Repeats[] {
  const runs: Repeats[] = [];
  let from = 0;
  for (let i = 1; i <= lost.length; i++) {
    if (i < lost.length && lost[i] === 0 && lost[i - 1] === 0 && columns.every((c) => c[i] === c[i - 1])) continue;
    if (i - from > 1) runs.push({ from, to: i - 1 });
    from = i;
  }
  return runs;
}

/** Largest change of any column from each row to the next, where there is one. */
function stepsOf(columns: Columns, lost: Uint8Array): Float64Array {
  const steps = new Float64Array(lost.length);
  let n = 0;
  for (let i = 1; i < lost.length; i++) {
    const step = lost[i] === 0 && lost[i - 1] === 0 ? stepAfter(columns, i - 1) : 0;
    if (step > 0) steps[n++] = step;
  }
  return steps.subarray(0, n);
}

function stepAfter(columns: Columns, row: number): number {
  return columns.reduce((most, c) => Math.max(most, Math.abs((c[row + 1] ?? c[row]!) - c[row]!)), 0);
}

/** Rows in a row that the share of rows that repeat makes likelier than once in a thousand runs; the longest stretch left out. */
function byChance(runs: readonly Repeats[], rows: number, { frozen_poses }: Settings): number {
  const lengths = runs.map(({ from, to }) => to - from);
  const longest = Math.max(...lengths);
  const share = (lengths.reduce((sum, length) => sum + length, 0) - longest) / Math.max(1, rows - longest);
  return share <= 0 ? frozen_poses : Math.max(frozen_poses, 1 + Math.log(1e-3 / rows) / Math.log(share));
}

/** A track of which every pose stood several times in the log, each kept once. */
export interface PolledPoses {
  readonly track: PoseTrack;
  /** how often a pose stood in the log, median */
  readonly typical: number;
  /** copies left out */
  readonly dropped: number;
}

/** Fewer different poses than this are no stream. */
const fewestPoses = 50;

/**
 * Recognises a log that is filled faster than the capture delivers: most poses stand in it twice or more, with stamps of
 * their own. Only the first of each was new; its copies are no measurements, and no sign of a lost body either.
 *
 * @param raw  poses sorted by time
 * @returns null where most poses stand once
 */
export function polledPoses(raw: PoseTrack): PolledPoses | null {
  const n = raw.t.length;
  const first = new Uint32Array(n);
  let count = 0;
  for (let i = 0; i < n; i++) if (i === 0 || !isSame(raw, i, i - 1)) first[count++] = i;
  // most poses stand twice: then there are at most two thirds as many different ones
  if (count < fewestPoses || 3 * count > 2 * n) return null;
  const lengths = new Uint32Array(count);
  for (let k = 0; k < count; k++) lengths[k] = (k + 1 < count ? first[k + 1]! : n) - first[k]!;
  lengths.sort();
  const typical = lengths[count >> 1]!;
  if (typical < 2) return null;
  const take = gatherBy(first, count);
  const { t, x, y, z, qx, qy, qz, qw } = raw;
  return {
    track: {
      t: take(t),
      x: take(x),
      y: take(y),
      z: take(z),
      qx: take(qx),
      qy: take(qy),
      qz: take(qz),
      qw: take(qw),
    },
    typical,
    dropped: n - count,
  };
}

function isSame(raw: PoseTrack, i: number, j: number): boolean {
  return (
    raw.x[i] === raw.x[j] &&
    raw.y[i] === raw.y[j] &&
    raw.z[i] === raw.z[j] &&
    raw.qx[i] === raw.qx[j] &&
    raw.qy[i] === raw.qy[j] &&
    raw.qz[i] === raw.qz[j] &&
    raw.qw[i] === raw.qw[j]
  );
}
