/** What a point of a frame is. */
export const state = { missing: 0, measured: 1, modelled: 2 } as const;

/**
 * What the fourth word of a point says of it. In both forms it is a signed 16-bit integer, cameras in the high byte and the
 * residual in the low one: negative where the point is missing, 0 as a whole where it was modelled (filled in, filtered).
 *
 * A residual of 0 beside cameras is a measurement whose residual is less than half of POINT:SCALE: a modelled point has no
 * cameras. Floating point files may hold the integer without its sign (65535 for -1, with 0 for the place), which is the
 * same word. A fraction is no such word, but was written by what knows a residual: measured. Writers without residuals
 * leave a point that was not seen at 0 0 0 with the word 0, where no marker can be to the last bit.
 *
 * @param word  as it stands, with or without its sign; NaN is missing
 * @source c3d.org, notes for programmers on integer and on floating point 3D data, and camera contribution mask
 */
export function pointState(word: number, x: number, y: number, z: number): 0 | 1 | 2 {
  if (!(word >= 0 && word < 0x8000 && Number.isFinite(x + y + z))) return state.missing;
  if (word > 0) return state.measured;
  return x === 0 && y === 0 && z === 0 ? state.missing : state.modelled;
}
