import { type CampaignEvaluation, errorsAlongHeading } from "../contract/evaluation.ts";
import type { MovingEffect } from "../contract/reasons.ts";
import { joinWords, percentRange } from "../words/amounts.ts";
import { alongText, judgedAt } from "../words/places.ts";
import { counterweightSafety } from "./imbalanceSentences.ts";
import { quotedConfiguration } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";
import { fixed, lengthText } from "./text/numbers.ts";

/** A sentence that says the most, and what belongs to it, one thought each. */
export interface MovingParagraph {
  readonly text: string;
  readonly items: readonly string[];
}

/**
 * What the counterweights did, apart from what their mass did, in plain words: one paragraph per trajectory and horizontal
 * axis, then what no figure could be given of, and the cautions where a change is suggested.
 *
 * @returns none where no run gives a moving moment
 */
export function movingSentences(evaluation: CampaignEvaluation): MovingParagraph[] {
  const { moving } = evaluation.reasons;
  if (moving.length === 0) return missingSentences(evaluation).map(alone);
  const advice = moving.some(({ remaining }) => remaining !== null && isAdvice(remaining));
  return [
    ...moving.map((effect) => effectText(effect, evaluation)),
    ...[
      "Along z nothing of this can be said: it would need the thrust. None of this is a verdict.",
      ...missingSentences(evaluation),
      ...(advice ? [counterweightSafety] : []),
    ].map(alone),
  ];
}

const alone = (text: string): MovingParagraph => ({ text, items: [] });

/**
 * The shares taken away, in one sentence for the answer: "Of what moves, the counterweights took away 51 % (44 to 57 %,
 * expected 50 %) along y in orbit."
 *
 * @returns "" where no share is known with its limits
 */
export function balanceSentence(evaluation: CampaignEvaluation): string {
  const { baseline, candidate } = evaluation.settings;
  const shares = evaluation.reasons.moving.flatMap((effect) => {
    const { trajectory, harmonic, configurations, contrasts } = effect;
    const ratio = contrasts[candidate]?.ratio;
    if (harmonic !== 1 || ratio?.value == null || ratio.ci95?.[0] == null || ratio.ci95[1] === null) return [];
    const expected = ratio.expected === null ? "" : `, expected ${percent(1 - ratio.expected)}`;
    const range = percentRange([1 - ratio.ci95[1], 1 - ratio.ci95[0]]);
    const added = ratio.value > 1;
    const doubts = [candidate, baseline].flatMap((name) => configurations[name]?.checks.map(({ code }) => code) ?? []);
    const doubted = doubts.length === 0 ? "" : `; doubted: ${[...new Set(doubts)].join(", ")}`;
    const size = added
      ? `${percent(ratio.value - 1)} more (${percentRange([ratio.ci95[0] - 1, ratio.ci95[1] - 1])}${doubted})`
      : `${percent(1 - ratio.value)} (${range}${expected}${doubted})`;
    return [{ added, text: `${size} ${axisText(evaluation, effect)} in ${shortName(trajectory)}` }];
  });
  const of = (added: boolean): string => joinWords(shares.filter((one) => one.added === added).map(({ text }) => text));
  const [taken, added] = [of(false), of(true)];
  return [
    ...(taken === "" ? [] : [`Of what moves, the counterweights took away ${taken}.`]),
    ...(added === "" ? [] : [`With the counterweights the arm moves the vehicle by ${added}.`]),
  ].join(" ");
}

/**
 * "along x", as the errors beside it are named; "along the vehicle's x" where those are along the room's: the arm moves the vehicle
 * forward and left of its own, whichever way it faces.
 */
function axisText({ runs, settings }: CampaignEvaluation, { trajectory, axis }: MovingEffect): string {
  const flown = runs.filter((run) => run.used && run.trajectory === trajectory);
  if (!flown.every(errorsAlongHeading)) return `along the vehicle's ${axis}`;
  return alongText([axis], judgedAt(settings.judged_in, { trajectory, subject: "vehicle" }), settings.axis_names);
}

/** "reach, along x" */
export function placeText(evaluation: CampaignEvaluation, effect: MovingEffect): string {
  const { trajectory, harmonic } = effect;
  return `${shortName(trajectory)}, ${axisText(evaluation, effect)}${harmonic === 1 ? "" : ` at ${harmonic} times the cycle's rate`}`;
}

function effectText(effect: MovingEffect, evaluation: CampaignEvaluation): MovingParagraph {
  const { candidate, baseline } = evaluation.settings;
  const { configurations, contrasts, unit } = effect;
  const [with_, without] = [configurations[candidate], configurations[baseline]];
  const checks = Object.values(configurations).flatMap(({ checks: own }) => own.map(({ message }) => message));
  const doubts = checks.length === 0 ? "" : `Look before you trust it: ${[...new Set(checks)].join("; ")}.`;
  const paragraph = (text: string, items: readonly string[]): MovingParagraph => ({
    text: `${placeText(evaluation, effect)}: ${text}`,
    items: [doubts, ...items].filter((item) => item !== ""),
  });
  if (with_ === undefined || without === undefined) {
    const flown = (with_ ?? without)!;
    const label = quotedConfiguration(evaluation, with_ === undefined ? baseline : candidate);
    return paragraph(
      `with ${label} ${amountText(flown.mean, flown.ci95, unit)} moves; the other configuration has no run that shows it.`,
      [],
    );
  }
  const [moves, moved] = [with_, without].map(({ mean, ci95 }) => amountText(mean, ci95, unit));
  const isLess = Math.abs(with_.mean) <= Math.abs(without.mean) && without.mean > 0;
  const left = isLess ? `Left are ${moves} of ${moved}.` : `With them ${moves} move, without them ${moved}.`;
  return paragraph(takenText(contrasts[candidate]!.ratio, unit), [
    left,
    remainingText(effect.remaining, contrasts[candidate]!.ratio.ci95),
    splitText(effect, evaluation),
    budgetText(effect),
  ]);
}

/** "as flown, the counterweights took away 79 % (62 to 96 %) of what moves; by their masses and places it should be 85 %." */
function takenText({ value, ci95, expected }: MovingEffect["contrasts"][string]["ratio"], unit: "kg" | "1"): string {
  if (unit === "1" && value === null)
    return "the take-off masses are not declared, so it is only known which share of the whole moves, and not which share of that was taken away.";
  const should = expected === null ? "" : `; by their masses and places it should be ${percent(1 - expected)}`;
  if (value === null || ci95 === null || ci95[0] === null || ci95[1] === null)
    return `the runs set no limits to the share that the counterweights took away${should}.`;
  const taken = 1 - value;
  const range = percentRange([1 - ci95[1], 1 - ci95[0]]);
  if (taken < 0)
    return `as flown, the counterweights added ${percent(-taken)} (${percentRange([ci95[0] - 1, ci95[1] - 1])}) to what moves${should}.`;
  const over = taken > 1 ? `, over-balanced by ${percent(taken - 1)}` : "";
  return `as flown, the counterweights took away ${percent(taken)} (${range}) of what moves${over}${should}.`;
}

function remainingText(
  remaining: MovingEffect["remaining"],
  ratio: MovingEffect["contrasts"][string]["ratio"]["ci95"],
): string {
  if (remaining === null) return "";
  const { ci95, more, more_ci95: range, why_not: why, per_weight: perWeight, fitted, value, further } = remaining;
  if (ci95 !== null && ci95[0] <= 0 && ci95[1] >= 0) {
    const clear = ratio?.[0] != null && ratio[1] !== null && (ratio[0] > 0 || ratio[1] < 0);
    return clear
      ? "That is at the edge of what these runs show (the interval of the share leaves out full balance, that of the grams does not), and no change is suggested."
      : "That may be balanced: the interval includes zero, and no change is suggested.";
  }
  if (why !== null || more === null || range === null || range[0] === null || range[1] === null)
    return perWeight < 0
      ? `Each gram of weight adds ${fixed(-perWeight, 2)} g: no change of these weights is suggested.`
      : `Each gram of weight takes away ${fixed(perWeight, 2)} g, and ${grams(value)} are left: ${why ?? "the flights set no limits to it"}.`;
  const heavier = more > 0;
  const ends = [Math.abs(range[0]), Math.abs(range[1])].sort((a, b) => a - b) as [number, number];
  const out =
    further === null
      ? ""
      : `, or sit ${lengthText(Math.abs(further))} ${heavier ? "further from" : "nearer to"} their pivots`;
  return `To take that away, the weights fitted (${grams(fitted)}) would have to be ${grams(Math.abs(more))} ${heavier ? "heavier" : "lighter"} (95 % interval ${grams(ends[0])} to ${grams(ends[1])}) at the same places${out}.`;
}

const isAdvice = ({ ci95, more }: NonNullable<MovingEffect["remaining"]>): boolean =>
  more !== null && ci95 !== null && (ci95[0] > 0 || ci95[1] < 0);

/**
 * What of the vehicle's synchronous difference is balance and what mass, where no sham was flown to show it: displacement goes
 * with what moves over the mass of the whole, so b (m_b/m_c) (rho - 1) is balance and b (m_b/m_c - 1) is mass, b the baseline's
 * amplitude and rho the balance ratio.
 */
function splitText(
  { trajectory, axis, harmonic, configurations, contrasts }: MovingEffect,
  evaluation: CampaignEvaluation,
): string {
  const { baseline, candidate, sham } = evaluation.settings;
  const used = evaluation.runs.filter((run) => run.used && run.trajectory === trajectory);
  // what moves is along the vehicle's axes, errors along those in which they are judged
  if (!used.every(errorsAlongHeading)) return "";
  const flown = sham !== null && used.some((run) => run.configuration === sham);
  const effect = evaluation.reasons.synchronous.find(
    (one) => one.trajectory === trajectory && one.subject === "vehicle" && one.axis === axis && one.k === harmonic,
  );
  const [light, heavy] = [configurations[baseline]?.mass ?? null, configurations[candidate]?.mass ?? null];
  const ratio = contrasts[candidate]?.ratio ?? null;
  if (flown || effect === undefined || light === null || heavy === null || ratio?.value == null || ratio.ci95 === null)
    return "";
  const [low, high] = ratio.ci95;
  if (low === null || high === null) return "";
  const b = 1000 * effect.baseline.amplitude;
  const share = light / heavy;
  // amplitudes are lengths: over-balanced by a tenth moves as much as a tenth that is left
  const balance = (left: number): string => fixed(b * share * (left - 1), 2);
  const least = low > 0 || high < 0 ? Math.min(Math.abs(low), Math.abs(high)) : 0;
  const most = Math.max(Math.abs(low), Math.abs(high));
  const whole = 1000 * (effect.candidate.amplitude - effect.baseline.amplitude);
  const change = fixed(whole, 2);
  const rest = whole - b * share * (Math.abs(ratio.value) - 1) - b * (share - 1);
  const neither =
    Math.abs(rest) > unexplained * Math.abs(whole)
      ? ` The ${fixed(rest, 2)} mm that are left are neither's: controller, gravity's torque on what moves, or chance.`
      : "";
  return `Of the vehicle's amplitude in step with the arm (${change} mm by the weights) balance makes ${balance(Math.abs(ratio.value))} mm (${balance(least)} to ${balance(most)} mm) and mass ${fixed(b * (share - 1), 2)} mm: computed from the share and the masses, no sham having been flown.${neither}`;
}

/** Both parts explain the change but for this share of it: more is said. */
const unexplained = 0.15;

function budgetText({ budget, unit }: MovingEffect): string {
  const cancelling = budget
    .filter(({ cancels }) => cancels)
    .map(
      ({ what, effect }) => `${unit === "kg" ? grams(effect) : `${fixed(100 * effect, 1)} % of the whole`} by ${what}`,
    );
  return cancelling.length === 0
    ? ""
    : `Besides, ${unit === "kg" ? "the grams" : "these"} may be off by as much as this, which nearly cancels in the share: ${cancelling.join("; ")}.`;
}

function missingSentences({ runs }: CampaignEvaluation): string[] {
  const why = new Map<string, string[]>();
  for (const { used, id, moving_missing: reason } of runs)
    if (used && reason !== null) why.set(reason, [...(why.get(reason) ?? []), id]);
  return [...why].map(([reason, ids]) => {
    const named = ids.length > 6 ? `${ids.length} runs` : `${ids.length === 1 ? "run" : "runs"} ${joinWords(ids)}`;
    return `What moves cannot be said of ${named}: ${reason}.`;
  });
}

/** "102 g (95 % interval 80 to 124 g)", or as a share of the whole */
export function amountText(value: number, ci95: readonly [number, number] | null, unit: "kg" | "1"): string {
  const text = (number: number): string => (unit === "kg" ? fixed(1000 * number, 0) : fixed(100 * number, 1));
  const name = unit === "kg" ? "g" : "% of the whole";
  const range = ci95 === null ? "" : ` (95 % interval ${text(ci95[0])} to ${text(ci95[1])})`;
  return `${text(value)} ${name}${range}`;
}

const grams = (kilograms: number): string => `${fixed(1000 * kilograms, Math.abs(kilograms) < 0.01 ? 1 : 0)} g`;
const percent = (share: number): string => `${fixed(100 * share, 0)} %`;
