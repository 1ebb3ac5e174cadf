/** What the comparison may say of a cell (design, section 2). */
export const verdicts = [
  "steadier",
  "less steady",
  "no difference that matters",
  "within the noise",
  "too few runs",
  "no spread",
  "doubted",
] as const;
export type Verdict = (typeof verdicts)[number];

/** Whether nothing could be compared: too few runs, or runs that do not differ at all among themselves. */
export function isUntested(verdict: Verdict | null): boolean {
  return verdict === "too few runs" || verdict === "no spread";
}
