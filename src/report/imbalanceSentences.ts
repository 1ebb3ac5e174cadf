import type { CampaignEvaluation } from "../contract/evaluation.ts";
import type { Imbalance } from "../contract/reasons.ts";
import { joinWords } from "../words/amounts.ts";
import { quotedConfiguration } from "./runGroups.ts";
import { shortName } from "./text/nameText.ts";
import { fixed, lengthText, probabilityText } from "./text/numbers.ts";

/** Stands behind any change of counterweights that is suggested. */
/** What to mind before any change of counterweights. */
export const counterweightSafety =
  "Before any change: counterweights mechanically retained (fastened twice, or with a lanyard) and clear of the propellers, the vehicle weighed again and its centre of mass found again after each change, a check of what a jammed or unpowered arm does, the thrust margin at the end of a battery; first hover low with the arm parked, then step up the arm's speed. Local rules, site procedures and licensed practice prevail.";
export const counterweightCaution = `A suggestion, not a verdict: it takes the vehicle's synchronous vectors to follow the counterweights' moment in a straight line, for the blocks flown. ${counterweightSafety}`;

const severalTrajectories =
  "One set of counterweights serves all trajectories: where they ask for different changes, decide beforehand which one matters, and fly them all after a change.";

/** directions further apart than this (cosine) are two directions: masses would have to go elsewhere */
const sameDirection = 0.98;
/** counterweights nearer to their frame's origin than this give no example of a mass, m */
const leastDistance = 0.005;

type Along = Imbalance["remaining"]["along"][number];
type Stated = Along & { readonly ci95: readonly [number, number] };

/**
 * What the counterweights still leave, in plain words: one sentence or a few per trajectory and harmonic, then the cautions
 * once where a change is suggested. Moments in g m or g mm.
 *
 * @returns none where the evaluation has no imbalance
 */
export function imbalanceSentences(evaluation: CampaignEvaluation): string[] {
  const { moving } = evaluation.reasons;
  // where what is left is known from what moves, displacement has nothing to add: mass and controller are in it
  const imbalance = evaluation.reasons.imbalance.filter(
    ({ trajectory }) => !moving.some((one) => one.trajectory === trajectory && one.remaining !== null),
  );
  const suggesting = imbalance.filter((one) => suggested(one).length > 0);
  const trajectories = new Set(suggesting.map(({ trajectory }) => trajectory));
  return [
    ...imbalance.map((one) => `${placeText(one)}: ${findingText(one, evaluation)}`),
    ...contradictions(imbalance),
    ...(trajectories.size > 1 ? [severalTrajectories] : []),
    ...(suggesting.length > 0 ? [counterweightCaution] : []),
  ];
}

/** Trajectories of which the intervals have no change in common: one set of counterweights cannot serve both. */
function contradictions(imbalance: readonly Imbalance[]): string[] {
  const first = imbalance.filter(({ k, directions }) => k === 1 && directions.length === 1);
  const stated = first.flatMap((one) => {
    const [along] = one.remaining.along;
    return along !== undefined && isDistinguished(along) ? [{ one, interval: along.ci95 }] : [];
  });
  return stated.flatMap(({ one, interval: [low, high] }, i) =>
    stated
      .slice(i + 1)
      .filter(({ interval: [otherLow, otherHigh] }) => otherLow > high || otherHigh < low)
      .map(
        ({ one: other }) =>
          `${shortName(one.trajectory)} and ${shortName(other.trajectory)} contradict each other: no change lies in both intervals. What is left in one of them is then not the counterweights' to take away (the arm's own geometry, the controller), or the straight line does not hold: do not build on either alone.`,
      ),
  );
}

function placeText({ trajectory, k }: Imbalance): string {
  return `${shortName(trajectory)}, ${k === 1 ? "1st" : k === 2 ? "2nd" : `${k}th`} harmonic`;
}

function findingText(one: Imbalance, evaluation: CampaignEvaluation): string {
  const { settings } = evaluation;
  const basis = `${one.settings.length} settings of ${joinWords(one.settings.map(({ runs }) => String(runs)))} runs`;
  const p = one.influence_p;
  const stated = one.remaining.along.filter(isDistinguished);
  if (p === null)
    return `the counterweights' influence on the vehicle cannot be found from ${basis}, so no change is suggested.`;
  if (stated.length === 0) {
    const why =
      p < (settings.thresholds.imbalance_level ?? 0.05)
        ? "is not known for any one direction"
        : "is not distinguished from 0";
    return `the counterweights' influence on the vehicle ${why} by ${basis} (${probabilityText(p)}), so no change is suggested.`;
  }
  const label = quotedConfiguration(evaluation, settings.candidate);
  const untold = one.directions.filter((_, j) => !isDistinguished(one.remaining.along[j]!));
  const silent =
    untold.length === 0
      ? ""
      : ` Along ${joinWords(untold.map(directionText))} the influence is not distinguished from 0, and nothing is suggested.`;
  if (suggested(one).length === 0) {
    const missing = joinWords(stated.map((along) => `${rangeText(along)} along ${directionOf(one, along)}`));
    return `no change is suggested: an influence-coefficient calculation from ${basis} puts what ${label} lacks at ${missing} of the counterweights' frame (95 % interval), which includes no change.${silent}`;
  }
  const clauses = stated.map((along) => `${changeText(along)} along ${directionOf(one, along)}`);
  const suggests = `an influence-coefficient calculation from ${basis} suggests that ${label} ${joinWords(clauses)} of the counterweights' frame`;
  const { baseline, candidate, best } = one.synchronous_rms;
  const flown = `Synchronous rms of the vehicle as flown: ${lengthText(baseline)} without, ${lengthText(candidate)} with`;
  if (isFar(one))
    return `${suggests}. That is further from the settings flown than they are from one another: take the direction from it, not the size. If it is worth the mass, fly one more setting a part of that step further and calculate again. ${flown}.${silent}`;
  const stretched = one.extrapolated
    ? " This lies outside the settings flown: the straight line is stretched beyond what was seen, so go there in steps and fly each."
    : "";
  return `${suggests}${exampleText(one, settings)}. ${flown}, about ${lengthText(best)} expected after the change.${stretched}${silent}`;
}

function isDistinguished(along: Along): along is Stated {
  return along.ci95 !== null;
}

/** the directions whose interval leaves out "no change" */
function suggested({ remaining, influence_p: p }: Imbalance): Stated[] {
  return p === null
    ? []
    : remaining.along.filter(isDistinguished).filter(({ ci95: [low, high] }) => low > 0 || high < 0);
}

/** further outside than the settings are apart: no size can be built on that */
function isFar({ best, extrapolated, settings }: Imbalance): boolean {
  if (!extrapolated) return false;
  const apart = (a: readonly number[], b: readonly number[]): number =>
    Math.hypot(...a.map((value, i) => value - b[i]!));
  const widest = Math.max(...settings.flatMap((a) => settings.map((b) => apart(a.moment, b.moment))));
  return Math.min(...settings.map(({ moment }) => apart(moment, best))) > widest;
}

/** "lacks 12 g m (95 % interval 8 to 17 g m)", or "has 12 g m too much (...)", or what cannot be decided */
function changeText(along: Stated): string {
  const [low, high] = along.ci95;
  const { amount, unit } = scaleOf(along);
  const text = (value: number): string => amount(value);
  if (low > 0) return `lacks ${text(along.value)} ${unit} (95 % interval ${text(low)} to ${text(high)} ${unit})`;
  if (high < 0)
    return `has ${text(-along.value)} ${unit} too much (95 % interval ${text(-high)} to ${text(-low)} ${unit})`;
  return `lacks something from ${rangeText(along)} (95 % interval, which includes no change)`;
}

function rangeText(along: Stated): string {
  const { amount, unit } = scaleOf(along);
  return `${amount(along.ci95[0])} to ${amount(along.ci95[1])} ${unit}`;
}

/** g m from 1 g m on, else g mm; as many decimals as the interval deserves */
function scaleOf({ value, ci95: [low, high] }: Stated): { amount: (value: number) => string; unit: string } {
  const largest = Math.max(Math.abs(value), Math.abs(low), Math.abs(high));
  const [factor, unit] = largest >= 0.001 ? [1000, "g m"] : [1_000_000, "g mm"];
  const half = ((high - low) / 2) * factor;
  const decimals = half > 0 ? Math.min(3, Math.max(0, -Math.floor(Math.log10(half)))) : 1;
  return { amount: (kilogramMetres) => fixed(kilogramMetres * factor, decimals), unit };
}

function directionText([x, y, z]: Imbalance["directions"][number]): string {
  return `(${fixed(x, 2)}, ${fixed(y, 2)}, ${fixed(z, 2)})`;
}

function directionOf({ directions, remaining }: Imbalance, along: Along): string {
  return directionText(directions[remaining.along.indexOf(along)]!);
}

/** ", for example 86 g more at the mean distance of those fitted (140 mm)": where one direction alone is to change */
function exampleText(one: Imbalance, { candidate, configurations }: CampaignEvaluation["settings"]): string {
  const [along, ...others] = suggested(one);
  const fitted = configurations[candidate]?.counterweights ?? [];
  const mass = fitted.reduce((sum, weight) => sum + weight.mass, 0);
  if (along === undefined || others.length > 0 || !(mass > 0)) return "";
  const centre = [0, 1, 2].map((i) => fitted.reduce((sum, weight) => sum + weight.mass * weight.at[i]!, 0) / mass);
  const direction = one.directions[one.remaining.along.indexOf(along)]!;
  const distance = centre.reduce((sum, value, i) => sum + value * direction[i]!, 0);
  if (Math.abs(distance) < leastDistance || Math.abs(distance) < sameDirection * Math.hypot(...centre)) return "";
  const change = along.value / distance;
  // more than what is fitted cannot be taken off
  if (change <= -mass) return "";
  const grams = Math.abs(change) * 1000;
  const amount = `${fixed(grams, grams < 10 ? 1 : 0)} g ${change > 0 ? "more" : "less"}`;
  return `, for example by ${amount} at the mean distance of those fitted (${lengthText(Math.abs(distance))})`;
}
