import FFT from "fft.js";

/** Tables up to this length are kept, a megabyte in all; longer ones are rare, and let go. */
const longestKept = 32_768;

const kept = new Map<number, FFT>();

/**
 * The transform of a length. Its tables of sines cost more than a transform, and the same few lengths come again and again.
 *
 * @param length  a power of two, at least 2
 */
export function transformOfLength(length: number): FFT {
  const known = kept.get(length);
  if (known !== undefined) return known;
  const made = new FFT(length);
  if (length <= longestKept) kept.set(length, made);
  return made;
}
