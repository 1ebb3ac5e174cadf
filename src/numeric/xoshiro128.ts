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
