import type { Verdict } from "../contract/cell.ts";

/** A sign beside the word of a verdict, so that a board can be taken in at a glance and in print. */
export const verdictShapes: Readonly<Record<Verdict, string>> = {
  steadier: "▼",
  "less steady": "▲",
  "no difference that matters": "=",
  "within the noise": "~",
  "too few runs": "?",
  "no spread": "∅",
  doubted: "!",
};
