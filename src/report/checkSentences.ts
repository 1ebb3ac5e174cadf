import type { CampaignCheck } from "../contract/campaignCheck.ts";
import { isOpen } from "../words/groupedFindings.ts";
import { joinWords } from "../words/lists.ts";
import { nothingUsable } from "./nothingUsable.ts";
import { isUnusable } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";

/** What a check says first, on the terminal and on the page: can this be evaluated, and what is hidden. */
export function checkSentences(check: CampaignCheck): string[] {
  const { runs, opened, named, settings, delays_apart: delays } = check;
  const letters = Object.keys(settings.configurations);
  return [
    usableSentence(check),
    `No difference between configurations is shown, and no look is counted: ${joinWords(letters)} stand for them in an order drawn from the logs, and no run says which it is of.`,
    ...(named.length === 0
      ? []
      : [
          `${named.length === runs.length ? "All runs" : `${named.length} of ${runs.length} runs`} bear the name of their configuration in their id or log (such as ${shortName(named[0]!)} of ${shortName(runs.find(({ id }) => id === named[0])?.log[0] ?? "")}): a person who reads them is not blind. Ids that say nothing can be given with \`id\`.`,
        ]),
    ...(delays.length === 0
      ? []
      : [
          `In ${joinWords(delays.map(shortName))} the response delays of the configurations differ by more than like runs scatter, and nothing confirms the clocks of all these runs: a clock that is off in some of them looks just like that. Log a gyro or an estimate in every run, and let \`same_motion\` find the offset.`,
        ]),
    ...(opened === null
      ? []
      : [
          `The answer of this campaign was first seen on ${opened.slice(0, 10)}: what is changed now is changed after that, and the audit of the evaluation says so.`,
        ]),
  ];
}

function usableSentence({ runs }: CampaignCheck): string {
  if (runs.length === 0) return "NOTHING CAN BE EVALUATED: no run is filed.";
  const used = runs.filter((run) => run.used).length;
  if (used === 0) {
    const why = runs.every(isUnusable) ? nothingUsable(runs) : "every run was left out.";
    return `NOTHING CAN BE EVALUATED: ${why}`;
  }
  const doubtful = runs.filter(
    (run) => run.used && run.checks.some((check) => check.severity === "doubt" && isOpen(check)),
  ).length;
  const all =
    used === runs.length ? `All ${runs.length} runs can be used` : `${used} of ${runs.length} runs can be used`;
  return `${all}, ${doubtful === 0 ? "none of them with doubts" : `${doubtful} of them with doubts`}.`;
}
