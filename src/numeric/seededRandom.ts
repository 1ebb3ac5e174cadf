import { CounterpoiseError } from "../foundation/errors.ts";

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

/**
 * The generator xoshiro128**, 1.1: four words of 32 bits, period 2^128 - 1.
 *
 * @param state  four words, not all zero; copied
 * @returns a function that gives the next word, 0 to 2^32 - 1
 * @source D. Blackman, S. Vigna, ACM Trans. Math. Softw. 47 (2021) 36, "Scrambled linear pseudorandom number generators"
 * @example xoshiro128([1, 2, 3, 4])() // => 11520
 */
export function xoshiro128(state: readonly [number, number, number, number]): () => number {
  let [a, b, c, d] = state;
  return () => {
    const word = Math.imul(rotateLeft(Math.imul(b, 5), 7), 9) >>> 0;
    const shifted = b << 9;
    c ^= a;
    d ^= b;
    b ^= c;
    a ^= d;
    c ^= shifted;
    d = rotateLeft(d, 11);
    return word;
  };
}

function rotateLeft(word: number, bits: number): number {
  return (word << bits) | (word >>> (32 - bits));
}
