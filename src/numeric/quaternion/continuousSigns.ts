import { requireSameLength } from "../requireSameLength.ts";

export interface QuaternionColumns {
  readonly qx: Float64Array;
  readonly qy: Float64Array;
  readonly qz: Float64Array;
  readonly qw: Float64Array;
}

/**
 * The same attitudes with signs that do not jump: q and -q are one rotation, and trackers change between them at will.
 * Every quaternion is put on the side of the one before it; the first gets w >= 0, so that a track and its
 * negative come out alike.
 *
 * Samples that are no attitude (NaN, all zero) are left as they are and passed over.
 *
 * @returns new columns, n numbers each
 * @throws CounterpoiseError  code `unequal-lengths`
 * @example continuousSigns(Float64Array.of(0, 0), Float64Array.of(0, 0), Float64Array.of(0, 0), Float64Array.of(1, -1)).qw // => 1, 1
 */
export function continuousSigns(
  qx: Float64Array,
  qy: Float64Array,
  qz: Float64Array,
  qw: Float64Array,
): QuaternionColumns {
  for (const column of [qy, qz, qw]) requireSameLength("continuousSigns", qx.length, column.length);
  const out = { qx: qx.slice(), qy: qy.slice(), qz: qz.slice(), qw: qw.slice() };
  let [x, y, z, w] = [0, 0, 0, 1];
  for (let i = 0; i < qx.length; i++) {
    const dot = x * qx[i]! + y * qy[i]! + z * qz[i]! + w * qw[i]!;
    if (dot < 0) {
      out.qx[i] = -qx[i]!;
      out.qy[i] = -qy[i]!;
      out.qz[i] = -qz[i]!;
      out.qw[i] = -qw[i]!;
    }
    const size = qx[i]! ** 2 + qy[i]! ** 2 + qz[i]! ** 2 + qw[i]! ** 2;
    if (size > 0 && Number.isFinite(size)) [x, y, z, w] = [out.qx[i]!, out.qy[i]!, out.qz[i]!, out.qw[i]!];
  }
  return out;
}
