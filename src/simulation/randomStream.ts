import { type SeededRandom, seededRandom } from "../numeric/seededRandom.ts";

/**
 * A stream of its own for each purpose of one flight, so that switching one source of chance off leaves the others as they were.
 *
 * @source the name is hashed by FNV-1a (Fowler, Noll, Vo), 32 bits
 */
export function randomStream(seed: number, purpose: string): SeededRandom {
  let hash = 0x811c9dc5;
  for (const character of `${seed}/${purpose}`) hash = Math.imul(hash ^ character.charCodeAt(0), 0x01000193);
  return seededRandom(hash >>> 0);
}
