import type { CampaignEvaluation } from "../../contract/evaluation.ts";
import { joinWords } from "../../words/amounts.ts";
import { looksText } from "../../words/lookWords.ts";
import { familyCells, namedConfigurations } from "../runGroups.ts";
import { shortName } from "../text/nameText.ts";
import { fixed } from "../text/numbers.ts";

/** What a reviewer will ask of these flights, and what answers it. */
export interface ReviewerQuestion {
  readonly asks: string;
  /** from the flights and the manifest; where nothing answers it, that */
  readonly answer: string;
}

/** Fewer runs of a configuration than these, and one flight decides: common practice, no source. */
const fewRuns = 5;
/** Most thrust over weight below which a multirotor has little left to steer with: common practice, no source. */
const leastThrust = 2;
const nothing = "Nothing in these flights answers it";

/** The questions that the data themselves raise, the gravest first; what the flights leave no room for is not asked. */
export function reviewerQuestions(evaluation: CampaignEvaluation): ReviewerQuestion[] {
  return [
    ...asked(evaluation.audit.findings, "doubt"),
    ...fewFlown(evaluation),
    ...balanceOrMass(evaluation),
    ...framesDecide(evaluation),
    ...noiseUnknown(evaluation),
    ...looked(evaluation),
    ...thrustLow(evaluation),
    ...onTheBench(evaluation),
    ...asked(evaluation.audit.findings, "note"),
  ];
}

/** Of balance and mass, looks and thresholds the questions below say more. */
const saidElsewhere = ["sham-missing", "many-looks"];

function asked(findings: CampaignEvaluation["audit"]["findings"], grave: "doubt" | "note"): ReviewerQuestion[] {
  return findings
    .filter(({ severity, code }) => severity === grave && !saidElsewhere.includes(code))
    .map(({ message, hint }) => ({ asks: message, answer: hint === "" ? `${nothing}.` : `To do: ${hint}.` }));
}

function fewFlown(evaluation: CampaignEvaluation): ReviewerQuestion[] {
  const family = familyCells(evaluation).filter(({ baseline, candidate }) => Math.min(baseline.n, candidate.n) > 0);
  const few = family.filter(({ baseline, candidate }) => Math.min(baseline.n, candidate.n) < fewRuns);
  if (few.length === 0) return [];
  const least = Math.min(...few.map(({ baseline, candidate }) => Math.min(baseline.n, candidate.n)));
  const { runs_to_fly: wanted } = evaluation.plan;
  return [
    {
      asks: `${few.length} of ${family.length} cells rest on fewer than ${fewRuns} runs of a configuration, the least on ${least}: is that more than chance?`,
      answer: `Intervals and p are those of so few runs, and stand in the table of verdicts. ${wanted} per configuration are advised.`,
    },
  ];
}

function balanceOrMass({ settings, reasons, audit, runs }: CampaignEvaluation): ReviewerQuestion[] {
  const { baseline, candidate, sham, configurations } = settings;
  const masses = [baseline, candidate].map((name) => audit.configurations[name]?.takeoff_mass.mean ?? null);
  const weighed = masses[0] !== null && masses[1] !== null ? masses[1]! - masses[0]! : null;
  const added = weighed ?? configurations[candidate]?.added_mass ?? 0;
  const flown = sham !== null && runs.some((run) => run.used && run.configuration === sham);
  if (!(added > 0) || flown) return [];
  const shown = reasons.moving.some(({ contrasts }) => contrasts[candidate]?.ratio.ci95 != null);
  return [
    {
      asks: `The candidate is ${fixed(1000 * added, 0)} g heavier, and no sham of the same mass was flown: is it the balance, or the mass?`,
      answer: shown
        ? "The moving moment tells what was balanced, whatever the mass (What the counterweights did, apart from their mass); a sham would have shown it by itself."
        : `${nothing}: neither a sham nor a moving moment is there.`,
    },
  ];
}

function framesDecide({ reasons }: CampaignEvaluation): ReviewerQuestion[] {
  const open = reasons.frames.filter(({ verdict, lowest, highest }) =>
    [lowest.verdict, highest.verdict].some((other) => other !== verdict),
  );
  if (open.length === 0) return [];
  const places = open.map(({ trajectory, axis }) => `${shortName(trajectory)} along ${axis}`);
  return [
    {
      asks: `Within the uncertainty of tool point and arm base ${open.length} of ${reasons.frames.length} verdicts of the effector could be others (${joinWords(places)}): how well is the rig measured?`,
      answer: "How far each moves, and by which number of the frames most, stands in evaluation.json (reasons.frames).",
    },
  ];
}

function noiseUnknown({ noise }: CampaignEvaluation): ReviewerQuestion[] {
  if (noise?.source === "static") return [];
  return [
    {
      asks: "No static capture was recorded: how large is the noise of the capture?",
      answer:
        noise?.source === "in flight"
          ? "It was estimated in flight, from what is faster than the vehicle can move; slow wander of the capture is not in it."
          : `${nothing}.`,
    },
  ];
}

function looked({ looks }: CampaignEvaluation): ReviewerQuestion[] {
  const changed = looks.opened?.changed ?? [];
  const late = changed.filter((what) => /smallest|family|primary|tolerance|exclu/.test(what));
  return [
    ...(late.length === 0
      ? []
      : [
          {
            asks: `${joinWords(late)} changed after the answer was first seen: would the answer have been the same?`,
            answer: "Both evaluations are on record in looks.jsonl; `counterpoise diff` sets two of them side by side.",
          },
        ]),
    ...(looks.count > 1 ? [{ asks: looksText(looks), answer: "Intervals and p are those of a single look." }] : []),
  ];
}

function thrustLow(evaluation: CampaignEvaluation): ReviewerQuestion[] {
  const { costs } = evaluation;
  if (costs === null) return [];
  const low = namedConfigurations(evaluation).flatMap(({ key, label }) => {
    const figure = costs.configurations[key]?.thrust_to_weight ?? null;
    return figure !== null && figure.value < leastThrust ? [`${fixed(figure.value, 2)} with ${label}`] : [];
  });
  if (low.length === 0) return [];
  return [
    {
      asks: `Thrust to weight is ${joinWords(low)}, below the ${leastThrust} of common practice: was the vehicle still well steered?`,
      answer:
        "Errors and saturation of the motors are in the runs' checks; what is left of the thrust stands under What it costs.",
    },
  ];
}

function onTheBench({ bench }: CampaignEvaluation): ReviewerQuestion[] {
  if (bench === null) return [];
  return bench.checks.map(({ message, hint }) => ({
    asks: `On the bench: ${message}`,
    answer: hint === "" ? `${nothing}.` : `To do: ${hint}.`,
  }));
}
