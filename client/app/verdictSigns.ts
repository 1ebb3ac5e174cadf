import type { Verdict } from "../../src/contract/cell.ts";

/** A sign beside the word of a verdict, the same as in the program's printed report: read at a glance, and in print. */
export const verdictSigns: Readonly<Record<Verdict, string>> = {
  steadier: "▼",
  "less steady": "▲",
  "no difference that matters": "=",
  "within the noise": "~",
  "too few runs": "?",
  "no spread": "∅",
  doubted: "!",
};

/** What each verdict says, for the legend. */
export const verdictMeanings: Readonly<Record<Verdict, string>> = {
  steadier: "the error is lower with the candidate, and stands among all cells of the family",
  "less steady": "the error is higher with the candidate, and stands among all cells of the family",
  "no difference that matters": "the 90 % interval lies inside the smallest difference",
  "within the noise": "neither shown to differ nor shown to be alike: an open question, not an absent effect",
  "too few runs": "fewer than three runs in a configuration",
  "no spread": "the runs do not differ at all among themselves, so there is no noise to hold a difference against",
  doubted: "a finding about the set-up could have made the difference: no claim until it is settled",
};

/** The sign of a configuration's runs in every drawing. */
export const roleSigns = { baseline: "○", candidate: "◆", sham: "□", other: "×" } as const;

/** How grave a finding is. */
export const severitySigns = { unusable: "✕", doubt: "▲", note: "○" } as const;
