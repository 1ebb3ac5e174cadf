/**
 * A list as it is read aloud.
 *
 * @example joinWords(["x", "y", "z"]) // => "x, y and z"
 */
export function joinWords(words: readonly string[]): string {
  return words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}
