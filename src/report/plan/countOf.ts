/** @example countOf(2, "block") // => "2 blocks" */
export function countOf(count: number, what: string): string {
  return `${count} ${what}${count === 1 ? "" : "s"}`;
}
