import { CounterpoiseError } from "../foundation/errors.ts";
import { xoshiro128 } from "./xoshiro128.ts";

export interface SeededRandom {
  /** 0 <= u < 1, 53 bits */
  uniform(): number;
  /** mean 0, variance 1 */
  normal(): number;
}

/**
 * Random numbers that a seed decides, the same on every machine but for the last digits of `normal`, which passes
 * through the machine's logarithm.
 *
 * xoshiro128** behind a 32-bit splitmix: a counter with the golden-ratio step, mixed by shifts and multiplications, fills
 * the state, so that seeds 1, 2, 3 give streams that have nothing in common. Normals by Marsaglia's polar method.
 *
 * @param seed  a whole number, 0 to 2^32 - 1
 * @throws CounterpoiseError  code `not-a-seed`
 * @source D. Blackman, S. Vigna, ACM Trans. Math. Softw. 47 (2021) 36; G. L. Steele, D. Lea, C. H. Flood, OOPSLA (2014) 453-472
 *         (splitmix); G. Marsaglia, T. A. Bray, SIAM Rev. 6 (1964) 260-264 (polar method)
 * @example seededRandom(7).uniform() === seededRandom(7).uniform() // => true
 */
export function seededRandom(seed: number): SeededRandom {
  if (!Number.isInteger(seed) || seed < 0 || seed > 0xffffffff) {
    throw new CounterpoiseError(
      "not-a-seed",
      `seededRandom requires a whole number from 0 to 4294967295, found ${seed}`,
    );
  }
  const mixed = splitmix32(seed);
  const next = xoshiro128([mixed(), mixed(), mixed(), mixed()]);
  const uniform = (): number => ((next() >>> 5) * 67108864 + (next() >>> 6)) / 9007199254740992;
  let spare: number | null = null;
  const normal = (): number => {
    if (spare !== null) {
      const kept = spare;
      spare = null;
      return kept;
    }
    for (;;) {
      const u = 2 * uniform() - 1;
      const v = 2 * uniform() - 1;
      const square = u * u + v * v;
      if (square >= 1 || square === 0) continue;
      const scale = Math.sqrt((-2 * Math.log(square)) / square);
      spare = v * scale;
      return u * scale;
    }
  };
  return { uniform, normal };
}

/** Fills states from one word; never four zeros in a row, for its counter meets zero once in 2^32 steps. */
function splitmix32(seed: number): () => number {
  let counter = seed;
  return () => {
    counter = (counter + 0x9e3779b9) >>> 0;
    let word = counter;
    word = Math.imul(word ^ (word >>> 16), 0x21f0aaad);
    word = Math.imul(word ^ (word >>> 15), 0x735a2d97);
    return (word ^ (word >>> 15)) >>> 0;
  };
}
