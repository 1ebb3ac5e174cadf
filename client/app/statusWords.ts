import type { Verdict } from "../../src/catalogue/verdicts.ts";
import type { ServiceState } from "../../src/contract/api/messages.ts";
import { joinWords } from "../../src/words/amounts.ts";
import { countText } from "./words.ts";

export interface StatusWords {
  readonly kind: "working" | "stale" | "failed" | "lost";
  readonly text: string;
  /** a fault's code, place and hint, where there is one */
  readonly details: readonly string[];
}

/** stage names of the service as a person reads them */
const stages: Readonly<Record<string, string>> = {
  captures: "static captures",
  hashing: "check sums of the files",
  comparing: "comparing the configurations",
  done: "writing the evaluation",
};

/**
 * What the service is doing, for the line above the page; null where all is quiet: the page shows what is on disk.
 *
 * @param options.connected  the stream of events stands
 * @param options.shown      an evaluation is on the page
 */
export function statusWords(
  state: ServiceState,
  { connected, shown }: { connected: boolean; shown: boolean },
): StatusWords | null {
  const { noun, again } = wordsOf(state);
  const kept = shown ? `; the last good ${noun} is shown` : "";
  if (!connected) {
    return {
      kind: "lost",
      text: `The service does not answer${kept}. Is it still running in its terminal? Trying again.`,
      details: [],
    };
  }
  if (state.status === "failed") {
    const { error } = state;
    return {
      kind: "failed",
      text: `The ${noun} failed: ${error?.message ?? "the service does not say why"}${kept}.`,
      details:
        error === null
          ? []
          : [
              ...(untold(error.place, error.message) ? [`where: ${error.place}`] : []),
              ...(untold(error.hint, error.message) ? [`what to do: ${error.hint}`] : []),
              `code: ${error.code}`,
            ],
    };
  }
  const changed = changedText(state.changed);
  if (state.status === "evaluating") {
    const now = progressText(state);
    const text = changed === "" ? capitalised(now) : `${changed}: ${now}`;
    return { kind: "working", text: `${text}${kept}.`, details: [] };
  }
  if (!state.stale) return null;
  const what = changed === "" ? "Files have changed since" : changed;
  return { kind: "stale", text: `${what}: not yet ${again}${kept}.`, details: [] };
}

/** What a service does that shows an answer, and one that is blind. */
export function wordsOf({ blind }: Pick<ServiceState, "blind">): {
  readonly does: string;
  readonly noun: string;
  readonly again: string;
} {
  return blind
    ? { does: "checking", noun: "check", again: "checked again" }
    : { does: "evaluating", noun: "evaluation", again: "evaluated again" };
}

/** @example progressText(state) // => "evaluating 7 of 20: flight-07"; "checking 7 of 20: flight-07" where the service is blind */
export function progressText({ progress, version, blind }: ServiceState): string {
  const { does } = wordsOf({ blind });
  if (progress === null) return version === 0 ? does : `${does} again`;
  const { done, total, run, stage } = progress;
  const what = run === "" ? (stages[stage] ?? stage) : run;
  return `${does} ${Math.min(total, run === "" ? done : done + 1)} of ${total}${what === "" ? "" : `: ${what}`}`;
}

/** Place and hint stand in some messages already. */
export function untold(detail: string | undefined, message: string): detail is string {
  return detail !== undefined && !message.includes(detail);
}

function changedText(changed: readonly string[]): string {
  if (changed.length === 0) return "";
  const named = changed.length > 3 ? [...changed.slice(0, 3), countText(changed.length - 3, "other file")] : changed;
  return `${joinWords(named)} changed on disk`;
}

function capitalised(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

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
