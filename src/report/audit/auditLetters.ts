import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { namedConfigurations } from "../runGroups.ts";

/** A configuration as the audit's tables name it. */
export interface LetteredConfiguration {
  readonly key: string;
  /** "Arm alone", with what the verdicts use it for: "Arm alone, baseline" */
  readonly name: string;
  /** one letter, or as many as it takes to tell it from the others */
  readonly letter: string;
  readonly role: "baseline" | "candidate" | "sham" | null;
}

/** The declared configurations with short names: the first letters of their keys that tell them apart, in capitals. */
export function auditLetters(evaluation: Pick<CampaignEvaluation, "settings">): LetteredConfiguration[] {
  const named = namedConfigurations(evaluation);
  // what could steer a terminal, or be taken for a blank, has no place in a short name
  const keys = named.map(({ key }) => key.toUpperCase().replace(/[^\p{L}\p{N}_-]/gu, ""));
  const short = shortest(keys);
  return named.map(({ key, name, role }, i) => ({
    key,
    name: role === null ? name : `${name}, ${role}`,
    letter: short?.[i] ?? `C${i + 1}`,
    role,
  }));
}

/** Of each key as few letters as tell it from all others; null where four do not. */
function shortest(keys: readonly string[]): string[] | null {
  const cut = keys.map((key) => {
    const letters = [...key];
    for (let length = 1; length <= Math.min(4, letters.length); length++) {
      const start = letters.slice(0, length).join("");
      if (keys.filter((other) => other.startsWith(start)).length === 1) return start;
    }
    return null;
  });
  return cut.some((each) => each === null) ? null : (cut as string[]);
}
